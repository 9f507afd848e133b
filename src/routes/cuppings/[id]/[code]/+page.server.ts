import { error, fail, redirect } from '@sveltejs/kit';
import { joinDescriptors } from '#lib/domain/trial/descriptors.ts';
import { perform } from '#lib/server/commands/act.ts';
import { scoreCup } from '#lib/server/commands/scoreCup.ts';
import { typedFields } from '#lib/server/imports/fields.ts';
import { sessionHref, sheetHref } from '#lib/server/views/cupping/coffee.ts';
import { loadSheetPage } from '#lib/server/views/cupping/session.ts';
import { numberIn } from '../../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, params }) => {
	const { database, actor } = locals;
	const sheet = await loadSheetPage(database.orm, numberIn(params.id), params.code, actor.name);
	if (!sheet) error(404, `The session ${params.id} has no cup ${params.code}.`);
	return { ...sheet, cupper: actor.name };
};

export const actions: Actions = {
	default: async ({ request, locals, params }) => {
		const form = await request.formData();
		const ticked = form.getAll('descriptor').filter((word) => typeof word === 'string');
		const { version, then, ...typed } = typedFields(form);
		const fields = {
			...typed,
			descriptors: joinDescriptors([...ticked, typed['descriptors'] ?? ''])
		};
		const { id, code } = params;
		const sessionId = numberIn(id);
		const saved = await perform(locals, (deed) =>
			scoreCup(deed, { sessionId, code, fields, savedAt: locals.now }, Number(version) || 0)
		);
		if (!saved.ok) return fail(400, { problems: [...saved.problems], fields });
		if (then === 'table') redirect(303, sessionHref(sessionId));
		if (then && /^\d+$/.test(then)) redirect(303, sheetHref(sessionId, then));
		const now = await loadSheetPage(locals.database.orm, sessionId, code, locals.actor.name);
		return { saved: { version: now!.version, missing: now!.missing, score: now!.score } };
	}
};

import { error, fail, redirect } from '@sveltejs/kit';
import { perform } from '#lib/server/commands/act.ts';
import { lookAtCuppingKey } from '#lib/server/commands/lookAtCuppingKey.ts';
import { loadKey } from '#lib/server/views/cupping/session.ts';
import { numberIn } from '../../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, params }) => {
	const key = await loadKey(locals.database.orm, numberIn(params.id), locals.actor.name);
	if (!key) error(404, `There is no cupping session ${params.id}.`);
	return { ...key, cupper: locals.actor.name };
};

export const actions: Actions = {
	default: async ({ locals, params, url }) => {
		const seen = await perform(locals, (deed) => lookAtCuppingKey(deed, numberIn(params.id)));
		if (!seen.ok) return fail(400, { problems: [...seen.problems] });
		redirect(303, url.pathname);
	}
};

import { error, fail, redirect } from '@sveltejs/kit';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import { perform } from '#lib/server/commands/act.ts';
import { mapIntakeFile } from '#lib/server/commands/mapIntakeFile.ts';
import { parseCorrection } from '#lib/server/imports/correct.ts';
import { typedFields } from '#lib/server/imports/fields.ts';
import { findIntakeFile } from '#lib/server/store/intake.ts';
import { loadIntakeFilePage } from '#lib/server/views/intake.ts';
import { numberIn, numberTyped } from '../../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, params, url }) => {
	const { id, file } = params;
	const page = await loadIntakeFilePage(locals.database.orm, numberIn(id), numberIn(file));
	if (!page) error(404, `There is no file ${file} waiting in intake ${id}.`);
	return { ...page, applied: Number(url.searchParams.get('applied') ?? 0) };
};

export const actions: Actions = {
	default: async ({ locals, params, request }) => {
		const fields = typedFields(await request.formData());
		const refused = (problems: readonly Problem[]) =>
			fail(400, { fields, problems: [...problems] });
		const file = await findIntakeFile(locals.database.orm, numberIn(params.file));
		if (!file?.mapping) error(404, `There is no file ${params.file} with columns to name.`);
		const correction = parseCorrection(fields, file.mapping);
		if (!correction.ok) return refused(correction.problems);
		const mapped = await perform(locals, (deed) =>
			mapIntakeFile(deed, {
				intakeId: numberIn(params.id),
				fileId: numberIn(params.file),
				version: numberTyped(fields['version']),
				correction: correction.value,
				alsoSameShape: fields['same_shape'] === 'yes'
			})
		);
		if (!mapped.ok) return refused(mapped.problems);
		redirect(303, `/intake/${params.id}/${params.file}?applied=${mapped.value.changed}`);
	}
};

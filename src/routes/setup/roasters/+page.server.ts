import { fail, redirect } from '@sveltejs/kit';
import { perform } from '#lib/server/commands/act.ts';
import { saveRoaster } from '#lib/server/commands/saveRoaster.ts';
import { readFields, typedFields } from '#lib/server/imports/fields.ts';
import { roastersTable } from '#lib/server/imports/tables.ts';
import { loadRoasterLines } from '#lib/server/views/setup.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals }) => ({
	roasters: await loadRoasterLines(locals.database.orm, locals.now)
});

export const actions: Actions = {
	default: async ({ locals, request }) => {
		const fields = typedFields(await request.formData());
		const read = readFields(fields, roastersTable, null);
		if (!read.ok) return fail(400, { problems: read.problems, fields });
		const saved = await perform(locals, (deed) => saveRoaster(deed, read.value, 0));
		if (!saved.ok) return fail(400, { problems: saved.problems, fields });
		redirect(303, `/setup/roasters/${encodeURIComponent(read.value.code)}#shifts`);
	}
};

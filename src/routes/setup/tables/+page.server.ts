import { fail, redirect } from '@sveltejs/kit';
import { importTables } from '#lib/server/commands/importTables.ts';
import { filesOf, sortUploads } from '#lib/server/imports/uploads.ts';
import { loadPastImports, loadTableHelp } from '#lib/server/views/setup.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals }) => ({
	tables: loadTableHelp(),
	imports: await loadPastImports(locals.database.orm)
});

export const actions: Actions = {
	default: async ({ locals, request }) => {
		const form = await request.formData();
		const files = await sortUploads(filesOf(form, 'tables'), filesOf(form, 'logs'));
		if (!files.ok) return fail(400, { problems: files.problems });
		const taken = await importTables(locals, files.value);
		if (!taken.ok) return fail(400, { problems: taken.problems });
		redirect(303, '/setup/tables#imports');
	}
};

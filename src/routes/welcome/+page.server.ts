import { fail, redirect } from '@sveltejs/kit';
import { perform } from '#lib/server/commands/act.ts';
import { importTables } from '#lib/server/commands/importTables.ts';
import { saveSite } from '#lib/server/commands/saveSite.ts';
import { readFields, typedFields } from '#lib/server/imports/fields.ts';
import { siteTable } from '#lib/server/imports/tables.ts';
import { filesOf, sortUploads } from '#lib/server/imports/uploads.ts';
import { loadSite } from '#lib/server/store/site.ts';
import { loadTableHelp, loadZones, NEW_SITE } from '#lib/server/views/setup.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals }) => {
	if (await loadSite(locals.database.orm)) redirect(303, '/setup');
	const { zones, here } = loadZones();
	return { zones, fields: { ...NEW_SITE, time_zone: here }, tables: loadTableHelp() };
};

export const actions: Actions = {
	site: async ({ locals, request }) => {
		const fields = typedFields(await request.formData());
		const title = 'The site was not set up';
		const site = readFields(fields, siteTable, null);
		if (!site.ok) return fail(400, { title, problems: site.problems, fields });
		const saved = await perform(locals, (deed) => saveSite(deed, site.value, 0));
		if (!saved.ok) return fail(400, { title, problems: saved.problems, fields });
		redirect(303, '/setup');
	},
	tables: async ({ locals, request }) => {
		const form = await request.formData();
		const title = 'No file was taken in';
		const files = await sortUploads(filesOf(form, 'tables'), filesOf(form, 'logs'));
		if (!files.ok) return fail(400, { title, problems: files.problems, fields: null });
		const taken = await importTables(locals, files.value);
		if (!taken.ok) return fail(400, { title, problems: taken.problems, fields: null });
		redirect(303, '/setup');
	}
};

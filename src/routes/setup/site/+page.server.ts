import { fail, redirect } from '@sveltejs/kit';
import { perform } from '#lib/server/commands/act.ts';
import { saveSite } from '#lib/server/commands/saveSite.ts';
import { readFields, typedFields } from '#lib/server/imports/fields.ts';
import { siteTable } from '#lib/server/imports/tables.ts';
import { loadSiteFields, loadZones } from '#lib/server/views/setup.ts';
import { numberTyped } from '../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals }) => ({
	site: await loadSiteFields(locals.database.orm),
	zones: loadZones().zones
});

export const actions: Actions = {
	default: async ({ locals, request }) => {
		const fields = typedFields(await request.formData());
		const site = readFields(fields, siteTable, null);
		if (!site.ok) return fail(400, { problems: site.problems, fields });
		const seen = numberTyped(fields['version']);
		const saved = await perform(locals, (deed) => saveSite(deed, site.value, seen));
		if (!saved.ok) return fail(400, { problems: saved.problems, fields });
		redirect(303, '/setup');
	}
};

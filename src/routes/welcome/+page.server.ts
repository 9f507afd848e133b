import { error, fail, redirect } from '@sveltejs/kit';
import { mayOpen } from '#lib/domain/access/places.ts';
import { perform } from '#lib/server/commands/act.ts';
import { importTables } from '#lib/server/commands/importTables.ts';
import { setUpOwner } from '#lib/server/commands/makeAccount.ts';
import { saveSite } from '#lib/server/commands/saveSite.ts';
import { readFields, typedFields } from '#lib/server/imports/fields.ts';
import { siteTable } from '#lib/server/imports/tables.ts';
import { filesOf, sortUploads } from '#lib/server/imports/uploads.ts';
import { hasUsers } from '#lib/server/store/people.ts';
import { loadSite } from '#lib/server/store/site.ts';
import { loadTableHelp, loadZones, NEW_SITE } from '#lib/server/views/setup.ts';
import { browserOf, holdSession, textOf } from '../session.server.ts';
import type { Actions, PageServerLoad } from './$types';

/** The first run: first the owner, then, signed in, the site. */
export const load: PageServerLoad = async ({ locals }) => {
	const [isFirst, site] = await Promise.all([
		hasUsers(locals.database.orm).then((has) => !has),
		loadSite(locals.database.orm)
	]);
	if (!isFirst && site) redirect(303, '/');
	if (!isFirst && locals.actor.userId === null) redirect(303, '/sign-in?to=%2Fwelcome');
	if (!isFirst && !mayOpen(locals.actor.role, '/setup/site'))
		error(403, 'The site is not set up yet; an owner does that.');
	const { zones, here } = loadZones();
	const fields = { ...NEW_SITE, time_zone: here };
	return { isFirst, zones, fields, tables: loadTableHelp() };
};

export const actions: Actions = {
	owner: async (event) => {
		const form = await event.request.formData();
		const fields = { login: textOf(form, 'login'), name: textOf(form, 'name') };
		const made = await setUpOwner(event.locals, {
			...fields,
			password: textOf(form, 'password'),
			browser: browserOf(event)
		});
		const title = 'The owner was not set up';
		if (!made.ok) return fail(400, { title, problems: made.problems, fields });
		holdSession(event, made.value.secret);
		redirect(303, '/welcome');
	},
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

import { fail, redirect } from '@sveltejs/kit';
import { listBackups } from '#lib/server/backup/names.ts';
import { makeBackup } from '#lib/server/jobs/backingUp.ts';
import { readSettings } from '#lib/server/settings.ts';
import { loadBackups } from '#lib/server/views/backups.ts';
import type { Actions, PageServerLoad } from './$types';

const settings = () => readSettings(process.env);
const address = () => settings().databaseUrl;

export const load: PageServerLoad = async ({ locals, url }) => ({
	backups: await loadBackups(locals.database.orm, listBackups(address())),
	made: url.searchParams.get('made'),
	keep: settings().keepBackups,
	isEmbedded: address().startsWith('file:')
});

export const actions: Actions = {
	default: async ({ locals }) => {
		const made = await makeBackup(locals, address(), settings().keepBackups);
		if (!made.ok) return fail(400, { problems: made.problems });
		redirect(303, `/setup/backup?made=${made.value.file}`);
	}
};

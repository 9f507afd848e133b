import type { Handle, ServerInit } from '@sveltejs/kit/hooks';
import { redirect } from '@sveltejs/kit';
import { openDatabase, type Database } from '#lib/server/db/client.ts';
import { rereadingJob, type RereadingJob } from '#lib/server/jobs/rereading.ts';
import { readSettings } from '#lib/server/settings.ts';
import { loadSite } from '#lib/server/store/site.ts';

let database: Database;
let rereading: RereadingJob;

/** Opens the database once, before the first request, and goes on reading what an older method read. */
export const init: ServerInit = async () => {
	const settings = readSettings(process.env);
	const options = { url: settings.databaseUrl, authToken: settings.databaseToken };
	database = await openDatabase(options);
	rereading = rereadingJob(options);
	await rereading.startIfStale(database, 'Trierbook');
	process.once('sveltekit:shutdown', async () => {
		await rereading.stop();
		await database.close();
	});
};

/** Pages that answer before the site is set up. */
const BEFORE_SETUP = ['/welcome', '/healthz', '/who'];

const SECURITY_HEADERS = {
	'x-content-type-options': 'nosniff',
	'x-frame-options': 'DENY',
	'referrer-policy': 'same-origin'
};

export const handle: Handle = async ({ event, resolve }) => {
	event.locals.database = database;
	event.locals.rereading = rereading;
	event.locals.now = Date.now();
	const name = event.cookies.get('recorded_by') || 'Operations';
	event.locals.actor = { userId: null, name, role: 'owner' };
	if (!BEFORE_SETUP.includes(event.url.pathname) && !(await loadSite(database.orm)))
		redirect(303, '/welcome');
	const response = await resolve(event);
	for (const [name, value] of Object.entries(SECURITY_HEADERS)) response.headers.set(name, value);
	return response;
};

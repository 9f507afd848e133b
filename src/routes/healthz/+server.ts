import { sql } from 'drizzle-orm';
import type { RequestHandler } from './$types';

/** Answers `ok` when the process runs and the database can be asked. */
export const GET: RequestHandler = async ({ locals }) => {
	await locals.database.orm.run(sql`select 1`);
	return new Response('ok\n', { headers: { 'content-type': 'text/plain; charset=utf-8' } });
};

import { createReadStream, statSync } from 'node:fs';
import { Readable } from 'node:stream';
import { error } from '@sveltejs/kit';
import { findBackup } from '#lib/server/backup/names.ts';
import { perform } from '#lib/server/commands/act.ts';
import { takeBackupAway } from '#lib/server/commands/keepBackup.ts';
import { readSettings } from '#lib/server/settings.ts';
import type { RequestHandler } from './$types';

/** One copy as it lies on the server. Who took it away is noted. */
export const GET: RequestHandler = async ({ locals, params }) => {
	const path = findBackup(readSettings(process.env).databaseUrl, params.file);
	if (path === null) error(404, `There is no backup ${params.file}; the list is at /setup/backup.`);
	const noted = await perform(locals, (deed) => takeBackupAway(deed, params.file));
	if (!noted.ok) error(403, noted.problems[0]!.message);
	return new Response(Readable.toWeb(createReadStream(path)) as ReadableStream, {
		headers: {
			'content-type': 'application/vnd.sqlite3',
			'content-length': String(statSync(path).size),
			'content-disposition': `attachment; filename="${params.file}"`
		}
	});
};

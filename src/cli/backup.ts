import { mkdirSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { copyDatabase } from '#lib/server/backup/copy.ts';
import { backupFolder, backupName, dropOldBackups } from '#lib/server/backup/names.ts';
import { readSettings } from '#lib/server/settings.ts';
import { actText, orRefuse, recordsText } from './support/records.ts';

/**
 * `npm run backup [-- FILE]`: a copy of the database while the server runs, opened to see that it is whole.
 * Without FILE it goes into `backups` beside the database, named by the moment, and the oldest there make way
 * beyond KEEP_BACKUPS.
 */
const { databaseUrl, keepBackups } = readSettings(process.env);
const target =
	process.argv[2] ?? join(backupFolder(databaseUrl) ?? 'backups', backupName(Date.now()));
mkdirSync(dirname(resolve(target)), { recursive: true });
const copied = orRefuse(await copyDatabase(databaseUrl, target));
console.log(
	`${target}: ${recordsText(copied.rows)}, ${(copied.bytes / 1e6).toFixed(1)} MB, opened and whole; ${actText(copied.newest)}.`
);
if (process.argv[2] === undefined)
	for (const name of dropOldBackups(databaseUrl, keepBackups))
		console.log(`${name} made way: ${keepBackups} are kept (KEEP_BACKUPS).`);

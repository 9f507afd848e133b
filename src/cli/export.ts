import { exportRecords } from '#lib/server/backup/plain.ts';
import { openDatabase } from '#lib/server/db/client.ts';
import { readSettings } from '#lib/server/settings.ts';
import { oneArgument, orRefuse, recordsText } from './support/records.ts';

/** `npm run export -- FOLDER`: every record as plain text, a file a table, with their sums. */
const folder = oneArgument('npm run export -- FOLDER');
const { databaseUrl: url, databaseToken: authToken } = readSettings(process.env);
// Brings an older database to the schema that import-all reads.
await (await openDatabase({ url, authToken })).close();
const { tables } = orRefuse(await exportRecords({ url, authToken }, folder));
const rows = Object.fromEntries(Object.entries(tables).map(([name, sum]) => [name, sum.rows]));
console.log(
	`${folder}: ${recordsText(rows)}. It holds everything, hashes of passwords included: keep it as you keep the database.`
);

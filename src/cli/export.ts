import { parseArgs } from 'node:util';
import { exportRecords } from '#lib/server/backup/plain.ts';
import { openDatabase } from '#lib/server/db/client.ts';
import { readSettings } from '#lib/server/settings.ts';
import { orRefuse, recordsText } from './support/records.ts';

/**
 * `npm run export -- FOLDER [--with-secrets]`: every record as plain text, a file a table, with their sums. What
 * lets somebody in (hashes of passwords and tokens, keys of second factors, passkeys) only if asked for.
 */
const { values, positionals } = parseArgs({
	allowPositionals: true,
	options: { 'with-secrets': { type: 'boolean', default: false } }
});
const [folder, ...more] = positionals;
if (folder === undefined || more.length > 0) {
	console.error('usage: npm run export -- FOLDER [--with-secrets]');
	process.exit(2);
}
const { databaseUrl: url, databaseToken: authToken } = readSettings(process.env);
// Brings an older database to the schema that import-all reads.
await (await openDatabase({ url, authToken })).close();
const secrets = values['with-secrets'];
const { tables } = orRefuse(await exportRecords({ url, authToken }, folder, { secrets }));
const rows = Object.fromEntries(Object.entries(tables).map(([name, sum]) => [name, sum.rows]));
const kept = secrets
	? 'It holds everything, hashes of passwords included: keep it as you keep the database.'
	: 'Passwords, second factors, passkeys, tokens and sessions are left out; import-all gives the owners links to come back by.';
console.log(`${folder}: ${recordsText(rows)}. ${kept}`);

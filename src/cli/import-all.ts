import { importRecords } from '#lib/server/backup/plain.ts';
import { openDatabase } from '#lib/server/db/client.ts';
import { readSettings } from '#lib/server/settings.ts';
import { oneArgument, orRefuse, recordsText } from './support/records.ts';

/** `npm run import-all -- FOLDER`: takes what `npm run export` wrote into an empty database. */
const folder = oneArgument('npm run import-all -- FOLDER');
const { databaseUrl: url, databaseToken: authToken } = readSettings(process.env);
await (await openDatabase({ url, authToken })).close();
const { tables } = orRefuse(await importRecords({ url, authToken }, folder));
const rows = Object.fromEntries(Object.entries(tables).map(([name, sum]) => [name, sum.rows]));
console.log(`${url}: took in ${recordsText(rows)}; every table sums to what the export states.`);

import { systemActor } from '#lib/domain/access/role.ts';
import { importRecords } from '#lib/server/backup/plain.ts';
import { perform } from '#lib/server/commands/act.ts';
import { inviteBack } from '#lib/server/commands/invitePerson.ts';
import { openDatabase } from '#lib/server/db/client.ts';
import { readSettings } from '#lib/server/settings.ts';
import { loadUsers } from '#lib/server/store/people.ts';
import { oneArgument, orRefuse, recordsText } from './support/records.ts';

/**
 * `npm run import-all -- FOLDER`: takes what `npm run export` wrote into an empty database. Where passwords were
 * left out it prints a link for each owner, who lets the others back in.
 */
const folder = oneArgument('npm run import-all -- FOLDER');
const { databaseUrl: url, databaseToken: authToken } = readSettings(process.env);
const database = await openDatabase({ url, authToken });
const { tables, secrets } = orRefuse(await importRecords({ url, authToken }, folder));
const rows = Object.fromEntries(Object.entries(tables).map(([name, sum]) => [name, sum.rows]));
console.log(`${url}: took in ${recordsText(rows)}; every table sums to what the export states.`);
if (!secrets) {
	const act = { database, now: Date.now(), actor: systemActor('Import') };
	const users = await loadUsers(database.orm);
	for (const { id, name } of users.filter((each) => each.role === 'owner' && !each.endedAt)) {
		const { secret } = orRefuse(await perform(act, (deed) => inviteBack(deed, id)));
		console.log(`${name} sets a new password within a week at /invitation/${secret}`);
	}
}
await database.close();

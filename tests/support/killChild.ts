/**
 * Does acts one after another until it is killed, a line when it begins one and a line once it is
 * acknowledged: `node tests/support/killChild.ts FOLDER`. The folder holds `work.db` and `older.db`.
 */
import { copyFileSync, renameSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { openDatabase } from '#lib/server/db/client.ts';
import { reading } from '#lib/server/db/schema.ts';
import { reread } from '#lib/server/jobs/reread.ts';
import { loadLots } from '#lib/server/store/lots.ts';
import { owner } from './actors.ts';
import { importSome, NOW, planSome, releaseSome } from './killedActs.ts';

const folder = process.argv[2]!;
const database = await openDatabase({ url: `file:${join(folder, 'work.db')}` });
const act = { database, now: NOW, actor: owner('Jo') };
const ready = (await loadLots(database.orm)).filter(({ code }) => code.startsWith('R-'));

/** An older database is brought to the newest schema, each time another. */
async function migrateOne(n: number): Promise<void> {
	const file = join(folder, `migration-${n}.db`);
	// Under its name only once it is whole: the copy is ours and not what is tried.
	copyFileSync(join(folder, 'older.db'), `${file}.part`);
	renameSync(`${file}.part`, file);
	await (await openDatabase({ url: `file:${file}` })).close();
}

async function rereadAll(): Promise<void> {
	await database.write((tx) => tx.update(reading).set({ method: 'older' }));
	await reread({ database, clock: Date.now, by: 'Jo' });
}

const say = (line: string) => writeSync(1, `${line}\n`);
for (let n = 0; ; n++) {
	const acts: Readonly<Record<string, () => Promise<void>>> = {
		import: () => importSome(act, n),
		plan: () => planSome(act),
		release: async () => {
			const lot = ready[n];
			if (lot) await releaseSome(act, lot.id);
		},
		migration: () => migrateOne(n),
		're-reading': rereadAll
	};
	for (const [kind, run] of Object.entries(acts)) {
		say(`begin ${kind} ${n}`);
		await run();
		if (kind !== 'release' || ready[n]) say(`done ${kind} ${n}`);
	}
}

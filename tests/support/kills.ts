import { spawn } from 'node:child_process';
import { once } from 'node:events';
import {
	cpSync,
	existsSync,
	mkdirSync,
	mkdtempSync,
	readdirSync,
	readFileSync,
	rmSync,
	statSync,
	writeFileSync
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import type { Client } from '@libsql/client';
import { drizzle } from 'drizzle-orm/libsql';
import { migrate } from 'drizzle-orm/libsql/migrator';
import { READING_METHOD } from '#lib/domain/release/reading.ts';
import { copyDatabase } from '#lib/server/backup/copy.ts';
import { inspectDatabase } from '#lib/server/backup/inspect.ts';
import { connect, type Asked } from '#lib/server/backup/stored.ts';
import { perform } from '#lib/server/commands/act.ts';
import { recordSample } from '#lib/server/commands/recordSample.ts';
import { openDatabase } from '#lib/server/db/client.ts';
import { reread } from '#lib/server/jobs/reread.ts';
import { ROOT } from '../../src/cli/support/build.ts';
import { owner } from './actors.ts';
import { LOTS_A_FILE, NOW, reviewedLot, WEEK } from './killedActs.ts';
import { demoLog, done, setUpRoastery } from './smallRoastery.ts';

/**
 * Looks at what processes leave when they are killed in the middle of acts. At most moments the process is
 * stopped (SIGSTOP), its files are copied as they are, and it goes on: a kill at that instruction would have
 * left the same files, since what was written is the kernel's either way. The last moment of each process
 * is a SIGKILL.
 */
const KINDS = ['import', 'plan', 'release', 'migration', 're-reading'] as const;
type Kind = (typeof KINDS)[number];

/** Lots ready for release in the database that acts start from. */
const READY = 8;
const KEPT_NOTES = 50;
const LOGS = ['HR-133-arrival.csv', 'HR-134-arrival.csv'];

/** What a process had said by a moment. */
interface Said {
	readonly done: Readonly<Record<Kind, number>>;
	/** The act under way. */
	readonly at: Kind | null;
	readonly round: number;
}

async function makeTemplate(first: string, template: string): Promise<void> {
	const database = await openDatabase({ url: `file:${first}` });
	const act = { database, now: NOW, actor: owner('Jo') };
	const { roasterId } = await setUpRoastery(act);
	const lotIds: number[] = [];
	for (let i = 0; i < READY; i++) lotIds.push(await reviewedLot(act, `R-${i}`, roasterId));
	for (const [i, name] of LOGS.entries()) {
		const facts = {
			...{ lotId: lotIds[i]!, stage: 'offer' as const, roastedAt: NOW - 3_600_000 },
			...{ chargeG: 100, outG: 86, airFlowGS: null, sensorLagS: null, earCrackS: null, note: '' }
		};
		const file = demoLog(`samples/${name}`);
		done(await perform(act, (deed) => recordSample(deed, { ...facts, file })));
	}
	await database.close();
	done(await copyDatabase(`file:${first}`, template));
}

/** A database of an early schema with some rows. */
async function makeOlder(file: string, folder: string): Promise<void> {
	const early = join(folder, 'drizzle');
	cpSync(join(ROOT, 'drizzle'), early, { recursive: true });
	const path = join(early, 'meta/_journal.json');
	const journal = JSON.parse(readFileSync(path, 'utf8')) as { entries: unknown[] };
	writeFileSync(path, JSON.stringify({ ...journal, entries: journal.entries.slice(0, 3) }));
	const client = connect(`file:${file}.first`);
	await migrate(drizzle(client), { migrationsFolder: early });
	for (let i = 0; i < KEPT_NOTES; i++)
		await client.execute({
			sql: `INSERT INTO mapping_memory (shape, mapping, used_at, "by") VALUES (?, '{}', 0, 'Jo')`,
			args: [`shape ${i}`]
		});
	await client.execute({ sql: 'VACUUM INTO ?', args: [file] });
	client.close();
}

function saidIn(text: string): Said {
	// A line that is cut off was not said.
	const lines = text.split('\n').slice(0, -1);
	const done = Object.fromEntries(
		KINDS.map((kind) => [kind, lines.filter((line) => line.startsWith(`done ${kind} `)).length])
	) as Record<Kind, number>;
	const last = /^begin (\S+) (\d+)$/.exec(lines.at(-1) ?? '');
	return { done, at: (last?.[1] ?? null) as Kind | null, round: Number(last?.[2] ?? 0) };
}

/** Waits until a stopped process stands still (its state in Linux's /proc is T). */
async function standsStill(pid: number): Promise<void> {
	while (!/^State:\s+T/m.test(readFileSync(`/proc/${pid}/status`, 'utf8'))) await setTimeout(1);
}

/** What is wrong in the files of a process that has stopped, and what it was at. */
async function wrongIn(folder: string, said: Said): Promise<string[]> {
	const wrong = await wrongInFile(join(folder, 'work.db'), async (client) => {
		const kinds = ['import', 'plan', 'release', 're-reading'] as const;
		const found: string[] = [];
		for (const kind of kinds) found.push(...(await WRONG[kind](client, said.done[kind])));
		return found;
	});
	const migrated = join(folder, `migration-${said.round}.db`);
	if (said.at === 'migration' && existsSync(migrated) && statSync(migrated).size > 0)
		wrong.push(...(await wrongInFile(migrated, (client) => WRONG.migration(client, 0))));
	return wrong;
}

/** Opens a file as the server would, which brings it to rest and to the newest schema, then looks. */
async function wrongInFile(
	file: string,
	look: (client: Client) => Promise<string[]>
): Promise<string[]> {
	const database = await openDatabase({ url: `file:${file}` });
	await reread({ database, clock: Date.now, by: 'Jo' });
	await database.close();
	const inspected = await inspectDatabase(file);
	if (!inspected.ok) return inspected.problems.map(({ message }) => message);
	if (inspected.value.stepsBehind > 0) return ['migrations are missing'];
	const client = connect(`file:${file}`);
	try {
		return await look(client);
	} finally {
		client.close();
	}
}

async function numbers(db: Asked, sql: string): Promise<number[]> {
	return (await db.execute(sql)).rows.map((row) => Number(row[0]));
}

const WRONG: Readonly<Record<Kind, (db: Asked, acknowledged: number) => Promise<string[]>>> = {
	/** Each file is there with every lot, movement and audit line, or not at all. */
	async import(db, acknowledged) {
		const imports = (
			await numbers(db, "SELECT count(*) FROM audit WHERE act = 'import tables'")
		)[0]!;
		const counted = await Promise.all(
			[
				"SELECT count(*) FROM lot WHERE code LIKE 'I%'",
				"SELECT count(*) FROM movement m JOIN lot l ON l.id = m.lot_id WHERE l.code LIKE 'I%'",
				"SELECT count(*) FROM audit a JOIN lot l ON l.id = a.lot_id WHERE l.code LIKE 'I%' AND a.act = 'create lot'"
			].map((sql) => numbers(db, sql))
		);
		const wrong = counted.flat().filter((n) => n !== imports * LOTS_A_FILE);
		return [
			...wrong.map((n) => `found ${n} rows, expected ${imports} files of ${LOTS_A_FILE}`),
			...(imports < acknowledged ? [`${acknowledged} imports acknowledged, ${imports} there`] : [])
		];
	},
	/** The newest plan's slots are all there, and the plan is the newest. */
	async plan(db, acknowledged) {
		const plans = await numbers(
			db,
			"SELECT json_extract(detail, '$.slots') FROM audit WHERE act = 'plan week' ORDER BY id"
		);
		const slots = (await numbers(db, `SELECT count(*) FROM slot WHERE week = '${WEEK}'`))[0]!;
		const kept = (await numbers(db, 'SELECT count(*) FROM week_plan'))[0]!;
		return [
			...(plans.length < acknowledged
				? [`${acknowledged} acknowledged, ${plans.length} there`]
				: []),
			...(plans.length > 0 && plans.at(-1) !== slots ? [`found ${slots} slots`] : []),
			...(kept !== Math.min(1, plans.length) ? [`found ${kept} plans`] : [])
		];
	},
	/** Each release has its audit line and the other way round. */
	async release(db, acknowledged) {
		const released = await numbers(db, 'SELECT lot_id FROM release ORDER BY lot_id');
		const noted = await numbers(
			db,
			"SELECT lot_id FROM audit WHERE act = 'release lot' ORDER BY lot_id"
		);
		return [
			...(released.join() === noted.join()
				? []
				: [`released ${released.join()}, noted ${noted.join()}`]),
			...(released.length < acknowledged
				? [`${acknowledged} acknowledged, ${released.length} there`]
				: [])
		];
	},
	async migration(db) {
		const kept = (await numbers(db, 'SELECT count(*) FROM mapping_memory'))[0]!;
		return kept === KEPT_NOTES ? [] : [`found ${kept} rows, expected ${KEPT_NOTES}`];
	},
	/** Gone on with, every sample has one reading by the method of today. */
	async 're-reading'(db) {
		const methods = (await db.execute('SELECT method FROM reading')).rows.map(
			({ method }) => method
		);
		const isWhole =
			methods.length === LOGS.length && methods.every((method) => method === READING_METHOD);
		return isWhole ? [] : [`found readings by ${methods.join()}`];
	}
};

/** Milliseconds from the beginning of an act to the moment, the same for a seed. */
function waits(count: number, seed: number): number[] {
	let state = seed >>> 0;
	return Array.from({ length: count }, () => {
		// Numerical Recipes' linear congruential generator: any spread of moments will do.
		state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
		return Math.floor((state / 2 ** 32) * 60);
	});
}

export interface Killed {
	/** Each with the moment that shows it. */
	readonly wrong: readonly string[];
	/** Moments by the act that the process was at. */
	readonly moments: Readonly<Record<string, number>>;
	/** Acts that were acknowledged in all. */
	readonly acknowledged: number;
}

/** One process, looked at at `count` moments, the last of which is its end. */
export async function killAtMoments(count: number, seed: number): Promise<Killed> {
	const folder = mkdtempSync(join(tmpdir(), 'trierbook-kill-'));
	const wrong: string[] = [];
	const moments: Record<string, number> = {};
	try {
		await makeTemplate(join(folder, 'first.db'), join(folder, 'work.db'));
		await makeOlder(join(folder, 'older.db'), folder);
		const child = spawn(process.execPath, [join(ROOT, 'tests/support/killChild.ts'), folder], {
			cwd: ROOT,
			stdio: ['ignore', 'pipe', 'inherit']
		});
		let text = '';
		child.stdout.on('data', (chunk: Buffer) => (text += chunk.toString()));
		const ended = once(child, 'close');
		let seen = 0;
		for (const [i, wait] of waits(count, seed).entries()) {
			const next = `begin ${KINDS[i % KINDS.length]!} `;
			while (!text.includes(next, seen)) {
				if (child.exitCode !== null) throw new Error(`The process ended with ${child.exitCode}.`);
				await setTimeout(1);
			}
			seen = text.indexOf(next, seen);
			await setTimeout(wait);
			const isLast = i === count - 1;
			child.kill(isLast ? 'SIGKILL' : 'SIGSTOP');
			await (isLast ? ended : standsStill(child.pid!));
			const said = saidIn(text);
			const left = join(folder, `left-${i}`);
			mkdirSync(left);
			for (const name of readdirSync(folder))
				if (/^(work|migration-\d+)\.db(-wal)?$/.test(name))
					cpSync(join(folder, name), join(left, name));
			moments[said.at ?? 'between'] = (moments[said.at ?? 'between'] ?? 0) + 1;
			const found = await wrongIn(left, said);
			wrong.push(...found.map((each) => `moment ${i} of seed ${seed}, at ${said.at}: ${each}`));
			rmSync(left, { recursive: true });
			if (!isLast) child.kill('SIGCONT');
		}
		const { done: acts } = saidIn(text);
		return { wrong, moments, acknowledged: Object.values(acts).reduce((sum, n) => sum + n, 0) };
	} finally {
		rmSync(folder, { recursive: true, force: true });
	}
}

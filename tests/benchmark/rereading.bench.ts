import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { statSync } from 'node:fs';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { count, eq, sql } from 'drizzle-orm';
import { READING_METHOD } from '#lib/domain/release/reading.ts';
import type { Act } from '#lib/server/commands/act.ts';
import { readAnew } from '#lib/server/commands/makeReadings.ts';
import type { Database } from '#lib/server/db/client.ts';
import { reading, readingChange } from '#lib/server/db/schema.ts';
import { loadRereadings, loadStale } from '#lib/server/store/readings.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { copySamples, LOGS, recordSamples } from '#support/manySamples.ts';
import { owner } from '#support/actors.ts';
import { setUpRoastery } from '#support/smallRoastery.ts';
import { ROOT } from '../../src/cli/support/build.ts';
import { median, timeMs, type Benchmark, type Figure } from './harness.ts';

const WANTED = 20_000;
const COPIES = Math.ceil(WANTED / LOGS.length);
const TOTAL = COPIES * LOGS.length;
/** Logs read alone, for the reference. */
const ALONE = 60;
const NOW = Date.UTC(2026, 10, 25, 9);

/**
 * Reading 20,000 logs again after a method was raised, killed without warning (SIGKILL) half-way and taken
 * up again, against fetching and reading the same number of logs without keeping anything.
 */
export const benchmark: Benchmark = {
	name: 'reading 20,000 logs again',
	unit: 'ms a log',
	goal: 'every log once and every change told, though killed half-way',
	slow: true,
	async run() {
		const db = await newDatabase();
		try {
			await fill(db.database);
			return await measure(db);
		} finally {
			await db.remove();
		}
	}
};

/** As many samples as wanted, every reading by an older method, a third of them with another crack. */
async function fill(database: Database): Promise<void> {
	const act: Act = { database, now: NOW, actor: owner('Jo') };
	await setUpRoastery(act);
	const [first] = await recordSamples(act);
	await copySamples(database, COPIES);
	const moved = sql`json_set(${reading.result}, '$.crack.peakS', json_extract(${reading.result}, '$.crack.peakS') + 3)`;
	await database.write(async (tx) => {
		await tx.update(reading).set({ method: 'release-0' });
		await tx
			.update(reading)
			.set({ result: moved })
			.where(sql`${reading.sampleId} % ${LOGS.length} = ${first! % LOGS.length}`);
	});
}

async function measure({ database, url }: TestDatabase): Promise<Figure> {
	const aloneMs = await readAlone(database);
	const before = await run(url, TOTAL / 2);
	const doneBefore = await countRead(database);
	const [stopped] = await loadRereadings(database.orm);
	const after = await run(url, Infinity);
	const [finished] = await loadRereadings(database.orm);
	const [changes] = await database.orm.select({ rows: count() }).from(readingChange);
	const isWhole =
		(await countRead(database)) === TOTAL &&
		finished!.done === TOTAL &&
		finished!.changed === COPIES &&
		changes!.rows === COPIES;
	const value = (before.ms + after.ms) / TOTAL;
	return {
		value,
		reference: aloneMs,
		ratio: value / aloneMs,
		holds: isWhole && stopped!.done === doneBefore,
		note:
			`${TOTAL} copies of ${LOGS.length} demo logs in ${Math.round(statSync(url.slice('file:'.length)).size / 2 ** 20)} MiB, ` +
			`one process, ten a transaction; killed after ${doneBefore} kept (${stopped!.done} counted), ` +
			`${finished!.done} counted and ${finished!.changed} changed at the end (${COPIES} had been altered); ` +
			`${((before.ms + after.ms) / 1000).toFixed(0)} s in all, ${(1000 / value).toFixed(0)} logs a second`
	};
}

/** Reads again in a process of its own until so many are done, then kills it; gives how long that took. */
async function run(url: string, killAfter: number): Promise<{ readonly ms: number }> {
	const child = spawn(process.execPath, [join(ROOT, 'tests/support/rereadChild.ts'), url], {
		stdio: ['ignore', 'pipe', 'inherit']
	});
	const ended = once(child, 'exit');
	const ms = await timeMs(async () => {
		for await (const line of createInterface({ input: child.stdout })) {
			if (Number(line.split(' ')[0]) >= killAfter) child.kill('SIGKILL');
		}
		await ended;
	});
	return { ms };
}

async function readAlone({ orm }: Database): Promise<number> {
	const times: number[] = [];
	for (const { sample } of await loadStale(orm, 0, ALONE)) {
		times.push(await timeMs(() => readAnew(orm, sample, 0, NOW)));
	}
	return median(times);
}

async function countRead({ orm }: Database): Promise<number> {
	const rows = await orm
		.select({ rows: count() })
		.from(reading)
		.where(eq(reading.method, READING_METHOD));
	return rows[0]!.rows;
}

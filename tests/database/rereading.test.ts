import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { createInterface } from 'node:readline';
import { join } from 'node:path';
import { eq, sql } from 'drizzle-orm';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { FINGERPRINT_METHOD } from '#lib/domain/release/fingerprint.ts';
import { READING_METHOD } from '#lib/domain/release/reading.ts';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { recordMeasurement } from '#lib/server/commands/recordMeasurement.ts';
import { fingerprint, reading, readingChange, rereading, roastLog } from '#lib/server/db/schema.ts';
import { rereadingJob } from '#lib/server/jobs/rereading.ts';
import { reread } from '#lib/server/jobs/reread.ts';
import { loadSamples } from '#lib/server/store/logs.ts';
import { countStale, loadFingerprints, loadRereadings } from '#lib/server/store/readings.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { copySamples, LOGS, recordSamples } from '#support/manySamples.ts';
import { done, setUpRoastery } from '#support/smallRoastery.ts';
import { ROOT } from '../../src/cli/support/build.ts';

/** Reading every log again when a method was raised (jobs/reread.ts). */

const NOW = Date.UTC(2026, 10, 25, 9);
const LATER = NOW + 3_600_000;

let db: TestDatabase;
let act: Act;
let ids: number[];

beforeEach(async () => {
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Jo') };
	await setUpRoastery(act);
	ids = await recordSamples(act);
});
afterEach(() => db.remove());

/** Makes every reading one of an older method, the first log's crack 3 s later and its verdict another. */
async function makeOlder(): Promise<void> {
	await db.database.write(async (tx) => {
		await tx.update(reading).set({ method: 'release-0' });
		await tx
			.update(reading)
			.set({
				result: sql`json_set(${reading.result}, '$.crack.verdict', 'weak', '$.crack.peakS',
				json_extract(${reading.result}, '$.crack.peakS') + 3)`
			})
			.where(sql`${reading.sampleId} % ${LOGS.length} = ${ids[0]! % LOGS.length}`);
	});
}

const again = (more: Partial<Parameters<typeof reread>[0]> = {}) =>
	reread({ database: db.database, clock: () => LATER, by: 'Sam', ...more });

const readingsBy = async (method: string) =>
	(await db.database.orm.select().from(reading).where(eq(reading.method, method))).length;

describe('what is kept with a reading', () => {
	it('is its fingerprint, to the last digit', async () => {
		const entries = await loadFingerprints(db.database.orm);
		expect(entries.map(({ sampleId }) => sampleId).sort()).toEqual([...ids].sort());
		const { fingerprint: kept } = entries[0]!;
		expect(kept.curve).toHaveLength(128);
		expect(kept.curve.every((value) => value === Math.round(value * 1e5) / 1e5)).toBe(true);
		expect(kept.method).toBe(FINGERPRINT_METHOD);
	});

	it('leaves nothing to read again', async () => {
		expect(await countStale(db.database.orm)).toBe(0);
		expect(await again()).toBeNull();
		expect(await loadRereadings(db.database.orm)).toEqual([]);
	});
});

describe('reading again', () => {
	it('brings every reading to the method and says which changed and how', async () => {
		await makeOlder();
		const was = (await loadSamples(db.database.orm, { sampleId: ids[0]! }))[0]!.result!;
		const run = await again();
		expect(run).toMatchObject({
			total: 3,
			done: 3,
			changed: 1,
			failed: 0,
			finishedAt: LATER,
			by: 'Sam'
		});
		expect(await readingsBy(READING_METHOD)).toBe(3);
		const changes = await db.database.orm.select().from(readingChange);
		const now = (await loadSamples(db.database.orm, { sampleId: ids[0]! }))[0]!.result!;
		expect(changes).toHaveLength(1);
		expect(changes[0]).toMatchObject({
			sampleId: ids[0],
			fromMethod: 'release-0',
			before: { verdict: 'weak', peakS: was.crack.peakS },
			after: { verdict: now.crack.verdict, peakS: expect.closeTo(was.crack.peakS! - 3, 9) }
		});
	});

	it('makes missing and older fingerprints too', async () => {
		await db.database.write(async (tx) => {
			await tx.delete(fingerprint).where(eq(fingerprint.sampleId, ids[1]!));
			await tx.update(fingerprint).set({ method: 'old' }).where(eq(fingerprint.sampleId, ids[2]!));
		});
		expect(await again()).toMatchObject({ total: 2, done: 2, changed: 0 });
		expect(await loadFingerprints(db.database.orm)).toHaveLength(3);
	});

	it('stops where it is told and goes on from there (rule 1)', async () => {
		await makeOlder();
		let batches = 0;
		const half = await again({
			batch: 1,
			shouldStop: () => batches === 2,
			onBatch: () => batches++
		});
		expect(half).toMatchObject({ total: 3, done: 2, finishedAt: null });
		expect(await readingsBy(READING_METHOD)).toBe(2);
		expect(await again()).toMatchObject({ id: half!.id, total: 3, done: 3, changed: 1, by: 'Sam' });
		expect(await loadRereadings(db.database.orm)).toHaveLength(1);
	});

	it('leaves a reading alone that was made in the meantime (rule 3)', async () => {
		await makeOlder();
		// The second batch is read while a measurement makes its log's reading anew.
		const lotId = (await loadSamples(db.database.orm, { sampleId: ids[1]! }))[0]!.sample.lotId;
		const measured = {
			lotId,
			stage: 'pre-shipment' as const,
			at: NOW,
			moisturePct: 11.1,
			...{ waterActivity: null, densityGL: null, screen16UpPct: null, defectsPer300G: null }
		};
		const { write } = db.database;
		let isFirst = true;
		const database = {
			...db.database,
			write: async (work: Parameters<typeof write>[0]) => {
				const [open] = await loadRereadings(db.database.orm);
				if (open && isFirst) {
					isFirst = false;
					const later = { ...act, now: NOW + 1 };
					done(await perform(later, (deed) => recordMeasurement(deed, measured)));
				}
				return write(work);
			}
		} as typeof db.database;
		expect(await again({ database })).toMatchObject({ done: 3 });
		const kept = (await loadSamples(db.database.orm, { lotId }))[0]!;
		expect(kept.result!.inputs.greenMoisturePct).toBe(11.1);
		const [row] = await db.database.orm.select().from(reading).where(eq(reading.sampleId, ids[1]!));
		expect(row!.madeAt).toBe(NOW + 1);
	});

	it('lists a log that breaks the reader and stops nothing (rule 4)', async () => {
		await makeOlder();
		const { logId } = (await loadSamples(db.database.orm, { sampleId: ids[2]! }))[0]!.sample;
		await db.database.write((tx) =>
			tx
				.update(roastLog)
				.set({ marks: sql`'null'` })
				.where(eq(roastLog.id, logId))
		);
		const run = await again();
		expect(run).toMatchObject({ total: 3, done: 2, failed: 1, finishedAt: LATER });
		const failures = await db.database.orm
			.select()
			.from(readingChange)
			.where(eq(readingChange.sampleId, ids[2]!));
		expect(failures[0]!.failure).toMatch(/\w/);
		expect(await readingsBy('release-0')).toBe(1);
	});

	it('closes one to an older method and starts its own', async () => {
		await makeOlder();
		await db.database.write((tx) =>
			tx.insert(rereading).values({
				...{ method: 'release-0', fingerprintMethod: 'old', startedAt: NOW, seenAt: NOW },
				...{ by: 'Jo', total: 9, done: 4 }
			})
		);
		expect(await again()).toMatchObject({ method: READING_METHOD, total: 3, done: 3 });
		const [, older] = await loadRereadings(db.database.orm);
		expect(older).toMatchObject({ done: 4, finishedAt: LATER });
	});
});

/** Patience with two starts of the program on a busy machine; nothing is asserted of it. */
const STARTS_MS = 120_000;

describe('in the background', () => {
	const url = () => ({ url: db.url });

	it('runs in a worker thread beside other writers, each kept', async () => {
		await copySamples(db.database, 10);
		await makeOlder();
		const job = rereadingJob(url());
		await job.startIfStale(db.database, 'start');
		expect(job.isRunning()).toBe(true);
		let written = 0;
		while (job.isRunning()) {
			await db.database.write((tx) =>
				tx.update(reading).set({ madeAt: NOW }).where(eq(reading.sampleId, -1))
			);
			written++;
			await new Promise((resolve) => setTimeout(resolve, 20));
		}
		expect(job.failure()).toBeNull();
		expect(written).toBeGreaterThan(0);
		expect((await loadRereadings(db.database.orm))[0]).toMatchObject({
			total: 30,
			done: 30,
			changed: 10,
			by: 'start'
		});
		await job.startIfStale(db.database, 'start');
		expect(job.isRunning()).toBe(false);
	});

	it(
		'goes on in a worker after kill -9: nothing lost, nothing counted twice',
		async () => {
			await copySamples(db.database, 30);
			await makeOlder();
			const child = spawn(process.execPath, [join(ROOT, 'tests/support/rereadChild.ts'), db.url], {
				cwd: ROOT,
				stdio: ['ignore', 'pipe', 'inherit']
			});
			const exit = once(child, 'exit');
			for await (const line of createInterface({ input: child.stdout })) {
				if (Number.parseInt(line) > 0) child.kill('SIGKILL');
			}
			expect((await exit)[1]).toBe('SIGKILL');
			const [stopped] = await loadRereadings(db.database.orm);
			expect(stopped!.finishedAt).toBeNull();
			expect(stopped!.done).toBeGreaterThan(0);
			expect(stopped!.done).toBeLessThan(90);
			expect(await readingsBy(READING_METHOD)).toBe(stopped!.done);

			const job = rereadingJob(url());
			await job.startIfStale(db.database, 'start again');
			expect(job.isRunning()).toBe(true);
			while (job.isRunning()) await new Promise((resolve) => setTimeout(resolve, 20));
			expect(job.failure()).toBeNull();
			const runs = await loadRereadings(db.database.orm);
			expect(runs).toHaveLength(1);
			expect(runs[0]).toMatchObject({
				...{ id: stopped!.id, by: 'test', total: 90, done: 90, changed: 30, failed: 0 }
			});
			expect(runs[0]!.finishedAt).not.toBeNull();
			expect(await countStale(db.database.orm)).toBe(0);
			const changes = await db.database.orm.select().from(readingChange);
			expect(new Set(changes.map(({ sampleId }) => sampleId)).size).toBe(30);
			const check = await db.database.orm.all<{ integrity_check: string }>(
				sql`pragma integrity_check`
			);
			expect(check[0]!.integrity_check).toBe('ok');
		},
		STARTS_MS
	);
});

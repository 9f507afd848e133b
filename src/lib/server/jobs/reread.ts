/**
 * Reads every log again whose reading is by an older method, in the background. Rules:
 * 1. What is left to read is told by the readings themselves, so that a stop at any moment, kill -9
 *    included, costs the batch under way and nothing else.
 * 2. The reading is done outside the transaction; a transaction keeps one small batch with its count and
 *    its changes, so that other writers wait for milliseconds.
 * 3. A reading that was made by somebody else in the meantime (a new measurement) is newer than what the
 *    batch was read from: it stays.
 * 4. A log that breaks the reader keeps its old reading, is listed, and stops nothing.
 */
import { and, eq, isNull, ne, or, sql } from 'drizzle-orm';
import { changedFigures, keyFiguresOf } from '#lib/domain/release/change.ts';
import { FINGERPRINT_METHOD } from '#lib/domain/release/fingerprint.ts';
import { READING_METHOD } from '#lib/domain/release/reading.ts';
import { readAnew, type Made } from '../commands/makeReadings.ts';
import type { Database, Tx } from '../db/client.ts';
import { readingChange, rereading } from '../db/schema.ts';
import {
	countStale,
	loadMadeAt,
	loadStale,
	storeReading,
	type Rereading,
	type StaleSample
} from '../store/readings.ts';
import { requireSite } from '../store/site.ts';

export interface RereadOptions {
	readonly database: Database;
	/** UTC milliseconds. */
	readonly clock: () => number;
	/** Who asked for it. */
	readonly by: string;
	/** Logs kept by one transaction. */
	readonly batch?: number;
	/** Asked before each batch: true stops there. */
	readonly shouldStop?: () => boolean;
	/** Called after each batch was kept. */
	readonly onBatch?: (done: number, total: number) => void;
}

export const BATCH = 10;

/**
 * Goes on with the re-reading that was stopped, or starts one; null where nothing is left to read. Resolves
 * when everything is read or it was told to stop.
 */
export async function reread(options: RereadOptions): Promise<Rereading | null> {
	const { database, clock, batch = BATCH } = options;
	let run = await patiently(() => begin(options));
	if (!run) return null;
	const { altitudeM } = await requireSite(database.orm);
	for (let afterId = 0; !options.shouldStop?.();) {
		const startedAt = clock();
		const stale = await loadStale(database.orm, afterId, batch);
		const last = stale.at(-1);
		if (!last) return patiently(() => finish(database, run!.id, clock()));
		const read: Read[] = [];
		for (const one of stale) read.push(await tryToRead(database, one, altitudeM, clock()));
		run = await patiently(() => keep(database, run!.id, read, startedAt, clock));
		options.onBatch?.(run.done, run.total);
		afterId = last.sample.id;
		// Lets a message that asks to stop come in.
		await new Promise((resolve) => setImmediate(resolve));
	}
	return run;
}

/** Takes up the open re-reading of today's methods; closes one of other methods, which is overtaken. */
function begin({ database, clock, by }: RereadOptions): Promise<Rereading | null> {
	return database.write(async (tx) => {
		const now = clock();
		const open = isNull(rereading.finishedAt);
		await tx
			.update(rereading)
			.set({ finishedAt: now })
			.where(
				and(
					open,
					or(
						ne(rereading.method, READING_METHOD),
						ne(rereading.fingerprintMethod, FINGERPRINT_METHOD)
					)
				)
			);
		const left = await countStale(tx);
		const [found] = await tx.select().from(rereading).where(open);
		if (found) {
			const set = { total: found.done + left, failed: 0, seenAt: now };
			const rows = await tx
				.update(rereading)
				.set(set)
				.where(eq(rereading.id, found.id))
				.returning();
			return rows[0]!;
		}
		if (left === 0) return null;
		const methods = { method: READING_METHOD, fingerprintMethod: FINGERPRINT_METHOD };
		const fresh = { ...methods, startedAt: now, seenAt: now, by, total: left };
		return (await tx.insert(rereading).values(fresh).returning())[0]!;
	});
}

function finish(database: Database, id: number, now: number): Promise<Rereading> {
	return database.write(async (tx) => {
		const set = { finishedAt: now, seenAt: now };
		return (await tx.update(rereading).set(set).where(eq(rereading.id, id)).returning())[0]!;
	});
}

/** A log read again, or why that broke. */
interface Read {
	readonly was: StaleSample;
	readonly made: Made | null;
	readonly failure: string | null;
}

async function tryToRead(
	{ orm }: Database,
	was: StaleSample,
	altitudeM: number,
	now: number
): Promise<Read> {
	try {
		return { was, made: await readAnew(orm, was.sample, altitudeM, now), failure: null };
	} catch (error) {
		return { was, made: null, failure: error instanceof Error ? error.message : String(error) };
	}
}

function keep(
	database: Database,
	id: number,
	read: readonly Read[],
	startedAt: number,
	clock: () => number
): Promise<Rereading> {
	return database.write(async (tx) => {
		const madeAt = await loadMadeAt(
			tx,
			read.map(({ was }) => was.sample.id)
		);
		let changed = 0;
		for (const one of read) {
			if ((madeAt.get(one.was.sample.id) ?? null) !== one.was.madeAt) continue;
			if (await keepOne(tx, id, one, clock())) changed++;
		}
		const failed = read.filter(({ failure }) => failure !== null).length;
		const now = clock();
		const rows = await tx
			.update(rereading)
			.set({
				done: sql`${rereading.done} + ${read.length - failed}`,
				changed: sql`${rereading.changed} + ${changed}`,
				failed: sql`${rereading.failed} + ${failed}`,
				spentMs: sql`${rereading.spentMs} + ${Math.max(0, now - startedAt)}`,
				seenAt: now
			})
			.where(eq(rereading.id, id))
			.returning();
		return rows[0]!;
	});
}

/** Keeps one reading and, where it came out otherwise, how. True where it did. */
async function keepOne(
	tx: Tx,
	rereadingId: number,
	{ was, made, failure }: Read,
	at: number
): Promise<boolean> {
	const sampleId = was.sample.id;
	const before = was.before && keyFiguresOf(was.before);
	const after = made?.reading.result ? keyFiguresOf(made.reading.result) : null;
	if (made) await storeReading(tx, sampleId, made);
	// A log that was never read has no reading that could have changed.
	const isChanged =
		made !== null && was.method !== null && changedFigures(before, after).length > 0;
	if (!isChanged && failure === null) return false;
	const row = { fromMethod: was.method ?? 'none', before, after, failure, at };
	await tx
		.insert(readingChange)
		.values({ rereadingId, sampleId, ...row })
		.onConflictDoUpdate({
			target: [readingChange.rereadingId, readingChange.sampleId],
			set: row
		});
	return isChanged;
}

const PATIENCE = 100;
const PAUSE_MS = 250;

/**
 * Tries again while another writer holds the file for longer than the client waits (an import of years of
 * tables). Throws what is not that, and after a hundred tries.
 */
async function patiently<T>(work: () => Promise<T>): Promise<T> {
	for (let tries = 1; ; tries++) {
		try {
			return await work();
		} catch (error) {
			if (tries === PATIENCE || !isBusy(error)) throw error;
			await new Promise((resolve) => setTimeout(resolve, PAUSE_MS));
		}
	}
}

function isBusy(error: unknown): boolean {
	for (let one = error; one instanceof Error; one = one.cause)
		if ('code' in one && String(one.code).startsWith('SQLITE_BUSY')) return true;
	return false;
}

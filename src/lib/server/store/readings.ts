import {
	and,
	asc,
	count,
	desc,
	eq,
	gt,
	inArray,
	isNotNull,
	isNull,
	max,
	min,
	ne,
	or,
	sql
} from 'drizzle-orm';
import {
	FINGERPRINT_METHOD,
	type Features,
	type Fingerprint,
	type FingerprintAxis
} from '#lib/domain/release/fingerprint.ts';
import { READING_METHOD } from '#lib/domain/release/reading.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { ReadingTraits } from '#lib/domain/trial/remaining.ts';
import type { Reader, Tx } from '../db/client.ts';
import { fingerprint, lot, reading, readingChange, rereading, sampleRoast } from '../db/schema.ts';
import type { SampleRoast } from './logs.ts';
import type { ReadingSummary } from './samples.ts';

export type Rereading = typeof rereading.$inferSelect;
export type ReadingChangeRow = typeof readingChange.$inferSelect;
/** A reading as it is kept, without its sample. */
export type MadeReading = Omit<typeof reading.$inferInsert, 'sampleId'>;
export type MadeFingerprint = Omit<typeof fingerprint.$inferInsert, 'sampleId'>;

/** Digits of a curve that are kept, as in the domain: hundred-thousandths of a per mille. */
const KEPT = 1e5;

/** Keeps a reading and its fingerprint in place of those before. */
export async function storeReading(
	tx: Tx,
	sampleId: number,
	made: { readonly reading: MadeReading; readonly fingerprint: MadeFingerprint }
): Promise<void> {
	await tx
		.insert(reading)
		.values({ sampleId, ...made.reading })
		.onConflictDoUpdate({ target: reading.sampleId, set: made.reading });
	await tx
		.insert(fingerprint)
		.values({ sampleId, ...made.fingerprint })
		.onConflictDoUpdate({ target: fingerprint.sampleId, set: made.fingerprint });
}

/** A fingerprint as a row; a problem keeps why there is none. */
export function fingerprintRow(
	made: Fingerprint | null,
	problems: readonly Problem[],
	readingMethod: string,
	madeAt: number
): MadeFingerprint {
	return {
		method: FINGERPRINT_METHOD,
		readingMethod,
		axis: made?.axis ?? null,
		curve: made ? Buffer.from(Float32Array.from(made.curve).buffer) : null,
		knownFromC: made?.knownFromC ?? null,
		knownToC: made?.knownToC ?? null,
		features: made?.features ?? null,
		problems,
		madeAt
	};
}

/** A sample with its fingerprint, and what a list says and filters by. */
export interface LibraryEntry {
	readonly sampleId: number;
	readonly lotId: number;
	readonly lotCode: string;
	readonly lotName: string;
	readonly lotKind: string;
	readonly stage: string;
	readonly roastedAt: number;
	readonly fingerprint: Fingerprint;
}

/** Every fingerprint of today's method, oldest roast first; one lot's where asked. */
export async function loadFingerprints(
	db: Reader,
	only: { readonly lotId?: number } = {}
): Promise<LibraryEntry[]> {
	const rows = await db
		.select({
			print: fingerprint,
			lotId: sampleRoast.lotId,
			lotCode: lot.code,
			lotName: lot.name,
			lotKind: lot.kind,
			stage: sampleRoast.stage,
			roastedAt: sampleRoast.roastedAt
		})
		.from(fingerprint)
		.innerJoin(sampleRoast, eq(sampleRoast.id, fingerprint.sampleId))
		.innerJoin(lot, eq(lot.id, sampleRoast.lotId))
		.where(
			and(
				eq(fingerprint.method, FINGERPRINT_METHOD),
				only.lotId === undefined ? undefined : eq(sampleRoast.lotId, only.lotId)
			)
		)
		.orderBy(asc(sampleRoast.roastedAt), asc(sampleRoast.id));
	return rows.flatMap(({ print, ...entry }) => {
		const found = fingerprintOfRow(print);
		return found ? [{ ...entry, sampleId: print.sampleId, fingerprint: found }] : [];
	});
}

/** By lot, when the first sample of the arrived coffee was roasted that has a reading. */
export async function loadFirstReadings(db: Reader): Promise<ReadonlyMap<number, number>> {
	const rows = await db
		.select({ lotId: sampleRoast.lotId, at: min(sampleRoast.roastedAt) })
		.from(sampleRoast)
		.innerJoin(reading, eq(reading.sampleId, sampleRoast.id))
		.where(and(eq(sampleRoast.stage, 'arrival'), isNotNull(reading.result)))
		.groupBy(sampleRoast.lotId);
	return new Map(rows.map(({ lotId, at }) => [lotId, at!]));
}

type Traits = ReadonlyMap<number, ReadingTraits>;
const traitsKept = new WeakMap<Reader, { readonly stamp: string; readonly traits: Traits }>();

/**
 * By lot, what the fingerprint of its newest arrival sample says of its release; the same map as long as
 * no reading was made.
 */
export async function loadReadingTraits(db: Reader): Promise<Traits> {
	const newest = (await db.select({ id: max(sampleRoast.id) }).from(sampleRoast))[0]!.id ?? 0;
	const stamp = `${newest} ${await fingerprintStamp(db)}`;
	const had = traitsKept.get(db);
	if (had?.stamp === stamp) return had.traits;
	const traits = await readTraits(db);
	traitsKept.set(db, { stamp, traits });
	return traits;
}

async function readTraits(db: Reader): Promise<Traits> {
	const rows = await db
		.select({ lotId: sampleRoast.lotId, features: fingerprint.features })
		.from(fingerprint)
		.innerJoin(sampleRoast, eq(sampleRoast.id, fingerprint.sampleId))
		.where(and(eq(fingerprint.method, FINGERPRINT_METHOD), eq(sampleRoast.stage, 'arrival')))
		.orderBy(asc(sampleRoast.roastedAt), asc(sampleRoast.id));
	return new Map(
		rows.flatMap(({ lotId, features }) => {
			if (features === null) return [];
			const { earlyShare, crackProminence } = features as Features;
			return [[lotId, { earlyShare, crackProminence }]];
		})
	);
}

function fingerprintOfRow(row: typeof fingerprint.$inferSelect): Fingerprint | null {
	if (row.curve === null || row.axis === null) return null;
	const bytes = new Uint8Array(row.curve);
	const curve = Array.from(
		new Float32Array(bytes.buffer, 0, bytes.byteLength / 4),
		(value) => Math.round(KEPT * value) / KEPT
	);
	return {
		method: row.method,
		readingMethod: row.readingMethod,
		axis: row.axis as FingerprintAxis,
		curve,
		knownFromC: row.knownFromC!,
		knownToC: row.knownToC!,
		features: row.features as Features
	};
}

/** Why a sample has no fingerprint; empty where it has one or was never read. */
export async function loadFingerprintProblems(db: Reader, sampleId: number): Promise<Problem[]> {
	const rows = await db
		.select({ problems: fingerprint.problems })
		.from(fingerprint)
		.where(eq(fingerprint.sampleId, sampleId));
	return (rows[0]?.problems ?? []) as Problem[];
}

/** Changes whenever a fingerprint is made or made anew. */
export async function fingerprintStamp(db: Reader): Promise<string> {
	const rows = await db
		.select({
			rows: count(),
			newest: sql<number>`max(${fingerprint.madeAt})`,
			moments: sql<string>`cast(sum(${fingerprint.madeAt}) as text)`
		})
		.from(fingerprint);
	const { rows: n, newest, moments } = rows[0]!;
	return `${n} ${newest} ${moments}`;
}

/** Readings that another method made, and those without a fingerprint of today's. */
const STALE = or(
	isNull(reading.sampleId),
	ne(reading.method, READING_METHOD),
	isNull(fingerprint.sampleId),
	ne(fingerprint.method, FINGERPRINT_METHOD),
	ne(fingerprint.readingMethod, READING_METHOD)
);

/** A log to read again, with its reading as it was found. */
export interface StaleSample {
	readonly sample: SampleRoast;
	readonly method: string | null;
	readonly madeAt: number | null;
	readonly before: ReadingSummary | null;
}

/** The next logs to read again after a sample, by id. */
export async function loadStale(db: Reader, afterId: number, most: number): Promise<StaleSample[]> {
	const rows = await db
		.select({
			sample: sampleRoast,
			method: reading.method,
			madeAt: reading.madeAt,
			before: sql<string | null>`json_remove(${reading.result}, '$.series')`
		})
		.from(sampleRoast)
		.leftJoin(reading, eq(reading.sampleId, sampleRoast.id))
		.leftJoin(fingerprint, eq(fingerprint.sampleId, sampleRoast.id))
		.where(and(gt(sampleRoast.id, afterId), STALE))
		.orderBy(asc(sampleRoast.id))
		.limit(most);
	return rows.map((row) => ({
		...row,
		before: row.before === null ? null : (JSON.parse(row.before) as ReadingSummary | null)
	}));
}

/** Logs left to read again. */
export async function countStale(db: Reader): Promise<number> {
	const rows = await db
		.select({ rows: count() })
		.from(sampleRoast)
		.leftJoin(reading, eq(reading.sampleId, sampleRoast.id))
		.leftJoin(fingerprint, eq(fingerprint.sampleId, sampleRoast.id))
		.where(STALE);
	return rows[0]!.rows;
}

/** When each of these samples' readings was made. */
export async function loadMadeAt(db: Reader, ids: readonly number[]): Promise<Map<number, number>> {
	const rows = await db
		.select({ id: reading.sampleId, madeAt: reading.madeAt })
		.from(reading)
		.where(inArray(reading.sampleId, [...ids]));
	return new Map(rows.map(({ id, madeAt }) => [id, madeAt]));
}

/** Samples by the method of their reading; null has none. */
export async function countMethods(
	db: Reader
): Promise<{ method: string | null; fingerprintMethod: string | null; samples: number }[]> {
	return db
		.select({ method: reading.method, fingerprintMethod: fingerprint.method, samples: count() })
		.from(sampleRoast)
		.leftJoin(reading, eq(reading.sampleId, sampleRoast.id))
		.leftJoin(fingerprint, eq(fingerprint.sampleId, sampleRoast.id))
		.groupBy(reading.method, fingerprint.method);
}

/** Re-readings, newest first. */
export async function loadRereadings(db: Reader): Promise<Rereading[]> {
	return db.select().from(rereading).orderBy(desc(rereading.id));
}

/** What a re-reading changed, with the lots. */
export async function loadReadingChanges(db: Reader, rereadingId: number) {
	return db
		.select({
			change: readingChange,
			lotCode: lot.code,
			lotName: lot.name,
			stage: sampleRoast.stage
		})
		.from(readingChange)
		.innerJoin(sampleRoast, eq(sampleRoast.id, readingChange.sampleId))
		.innerJoin(lot, eq(lot.id, sampleRoast.lotId))
		.where(eq(readingChange.rereadingId, rereadingId))
		.orderBy(asc(lot.code), asc(readingChange.sampleId));
}

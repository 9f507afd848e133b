import { and, asc, count, desc, eq, isNotNull, isNull, sql, type SQL } from 'drizzle-orm';
import type { Reader } from '../db/client.ts';
import { ofLot, type LotIds } from './lots.ts';
import {
	cupping,
	cuppingSession,
	lot,
	sampleRoast,
	sessionCup,
	sessionKeySeen,
	sessionSheet,
	testBatch
} from '../db/schema.ts';

/** Cuppings, however they came about, and the sessions that blind ones come from. */

export type CuppingSession = typeof cuppingSession.$inferSelect;
export type SessionSheet = typeof sessionSheet.$inferSelect;
type SessionCup = typeof sessionCup.$inferSelect;

/** A filled sheet with where it was filled. */
export type Cupping = typeof cupping.$inferSelect & {
	/** Null for a sheet of its own. */
	readonly session: {
		readonly id: number;
		readonly name: string;
		readonly code: string;
		/** False where the cupper had looked at what the codes stand for. */
		readonly wasBlind: boolean;
	} | null;
	/** The same text for the same coffee, whatever the session: `test 12`, `sample 3`. */
	readonly coffee: string;
};

export interface CuppingsFilter {
	readonly testBatchId?: number;
	readonly sampleId?: number;
	/** A lot's tests and samples. */
	readonly lotId?: LotIds;
	readonly sessionId?: number;
	/** Sheets of sessions only. */
	readonly inSessions?: true;
	/** Sheets of tests only, those that were not withdrawn. */
	readonly ofTests?: true;
	readonly ofSamples?: true;
}

/** Filled sheets, the oldest first: those of their own and those of closed sessions alike. */
export async function loadCuppings(db: Reader, only: CuppingsFilter): Promise<Cupping[]> {
	const where: (SQL | undefined)[] = [];
	if (only.testBatchId !== undefined) where.push(eq(cupping.testBatchId, only.testBatchId));
	if (only.sampleId !== undefined) where.push(eq(cupping.sampleId, only.sampleId));
	if (only.lotId !== undefined) where.push(ofLot(lot.id, only.lotId));
	if (only.sessionId !== undefined) where.push(eq(sessionCup.sessionId, only.sessionId));
	if (only.inSessions) where.push(isNotNull(cupping.sessionCupId));
	if (only.ofTests) where.push(isNotNull(cupping.testBatchId), isNull(testBatch.withdrawnAt));
	if (only.ofSamples) where.push(isNotNull(cupping.sampleId));
	const rows = await db
		.select({ cupping, cup: sessionCup, session: cuppingSession, seen: sessionKeySeen.at })
		.from(cupping)
		.leftJoin(sessionCup, eq(sessionCup.id, cupping.sessionCupId))
		.leftJoin(cuppingSession, eq(cuppingSession.id, sessionCup.sessionId))
		.leftJoin(
			sessionKeySeen,
			and(eq(sessionKeySeen.sessionId, sessionCup.sessionId), eq(sessionKeySeen.by, cupping.by))
		)
		.leftJoin(testBatch, eq(testBatch.id, cupping.testBatchId))
		.leftJoin(sampleRoast, eq(sampleRoast.id, cupping.sampleId))
		.leftJoin(lot, eq(lot.id, lotOfCoffee))
		.where(and(...where))
		.orderBy(asc(cupping.cuppedAt), asc(cupping.id));
	return rows.map(({ cupping: row, cup, session, seen }) => ({
		...row,
		session:
			cup && session
				? { id: session.id, name: session.name, code: cup.code, wasBlind: seen === null }
				: null,
		coffee: coffeeOf(cup ?? { ...row, reference: null })
	}));
}

/** The lot of a test or a sample, in a query that joins both. */
const lotOfCoffee = sql`coalesce(${testBatch.lotId}, ${sampleRoast.lotId})`;

function coffeeOf(cup: Pick<SessionCup, 'testBatchId' | 'sampleId' | 'reference'>): string {
	if (cup.testBatchId !== null) return `test ${cup.testBatchId}`;
	if (cup.sampleId !== null) return `sample ${cup.sampleId}`;
	return `reference ${cup.reference?.toLowerCase() ?? ''}`;
}

/** Open sessions first, then the newest. */
export async function loadSessions(db: Reader): Promise<CuppingSession[]> {
	return db
		.select()
		.from(cuppingSession)
		.orderBy(desc(isNull(cuppingSession.closedAt)), desc(cuppingSession.openedAt));
}

/** A session, or null when there is none of that id. */
export async function findSession(db: Reader, id: number): Promise<CuppingSession | null> {
	const rows = await db.select().from(cuppingSession).where(eq(cuppingSession.id, id));
	return rows[0] ?? null;
}

/** A cup with the coffee in it: not to be shown while its session is open. */
export interface CupRecord extends SessionCup {
	readonly coffee: string;
	readonly lotCode: string | null;
	readonly lotName: string | null;
	readonly testNumber: number | null;
	readonly stage: string | null;
	readonly roastedAt: number | null;
}

/** Cups of a session by their codes; of every session without an id. */
export async function loadCups(db: Reader, sessionId?: number): Promise<CupRecord[]> {
	const rows = await db
		.select({ cup: sessionCup, lot, test: testBatch, sample: sampleRoast })
		.from(sessionCup)
		.leftJoin(testBatch, eq(testBatch.id, sessionCup.testBatchId))
		.leftJoin(sampleRoast, eq(sampleRoast.id, sessionCup.sampleId))
		.leftJoin(lot, eq(lot.id, lotOfCoffee))
		.where(sessionId === undefined ? undefined : eq(sessionCup.sessionId, sessionId))
		.orderBy(asc(sessionCup.sessionId), asc(sessionCup.code));
	return rows.map(({ cup, lot: of, test, sample }) => ({
		...cup,
		coffee: coffeeOf(cup),
		lotCode: of?.code ?? null,
		lotName: of?.name ?? null,
		testNumber: test?.number ?? null,
		stage: sample?.stage ?? null,
		roastedAt: sample?.roastedAt ?? null
	}));
}

/** Sheets of a session as typed so far, with their cups' codes. */
export async function loadSheets(
	db: Reader,
	sessionId: number
): Promise<(SessionSheet & { readonly code: string })[]> {
	const rows = await db
		.select({ sheet: sessionSheet, code: sessionCup.code })
		.from(sessionSheet)
		.innerJoin(sessionCup, eq(sessionCup.id, sessionSheet.cupId))
		.where(eq(sessionCup.sessionId, sessionId))
		.orderBy(asc(sessionSheet.by), asc(sessionCup.code));
	return rows.map(({ sheet, code }) => ({ ...sheet, code }));
}

/** Cups and cuppers of every session that has any, by its id. */
export async function countSessions(
	db: Reader
): Promise<ReadonlyMap<number, { readonly cups: number; readonly cuppers: number }>> {
	const [cups, cuppers] = await Promise.all([
		db
			.select({ id: sessionCup.sessionId, cups: count() })
			.from(sessionCup)
			.groupBy(sessionCup.sessionId),
		db
			.selectDistinct({ id: sessionCup.sessionId, by: sessionSheet.by })
			.from(sessionSheet)
			.innerJoin(sessionCup, eq(sessionCup.id, sessionSheet.cupId))
	]);
	return new Map(
		cups.map((row) => [
			row.id,
			{ cups: row.cups, cuppers: cuppers.filter(({ id }) => id === row.id).length }
		])
	);
}

/** Who looked at what a session's codes stand for before it was closed. */
export async function loadKeySeen(db: Reader, sessionId: number): Promise<readonly string[]> {
	const rows = await db
		.select({ by: sessionKeySeen.by })
		.from(sessionKeySeen)
		.where(eq(sessionKeySeen.sessionId, sessionId))
		.orderBy(asc(sessionKeySeen.at));
	return rows.map(({ by }) => by);
}

/** Open sessions with a test or a sample on the table. */
export async function loadOpenSessionsOf(
	db: Reader,
	coffee: { readonly testBatchId: number } | { readonly sampleId: number }
): Promise<{ readonly id: number; readonly name: string }[]> {
	const isOn =
		'sampleId' in coffee
			? eq(sessionCup.sampleId, coffee.sampleId)
			: eq(sessionCup.testBatchId, coffee.testBatchId);
	return db
		.selectDistinct({ id: cuppingSession.id, name: cuppingSession.name })
		.from(cuppingSession)
		.innerJoin(sessionCup, eq(sessionCup.sessionId, cuppingSession.id))
		.where(and(isOn, isNull(cuppingSession.closedAt)));
}

/** Descriptors of every cupping, the newest first. */
export async function loadDescriptorTexts(db: Reader): Promise<string[]> {
	const rows = await db
		.select({ text: cupping.descriptors })
		.from(cupping)
		.orderBy(desc(cupping.cuppedAt));
	return rows.map(({ text }) => text);
}

import { and, asc, between, eq, inArray, isNull, sql } from 'drizzle-orm';
import type { Posting } from '#lib/domain/cost/posting.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { Reader } from '../db/client.ts';
import {
	cupping,
	energyReading,
	journalAccount,
	production,
	recovery,
	roaster,
	testBatch,
	testBudget,
	testPosting,
	testRoast,
	verdict
} from '../db/schema.ts';

/** Records that only costs are worked out from. */

export type EnergyReading = typeof energyReading.$inferSelect;
export type TestBudget = typeof testBudget.$inferSelect;
export type JournalAccountRow = typeof journalAccount.$inferSelect;

/** Every reading of meters in the order they were recorded: of several of a batch the last counts. */
export async function loadEnergyReadings(db: Reader): Promise<EnergyReading[]> {
	return db.select().from(energyReading).orderBy(asc(energyReading.id));
}

/** Readings of these lots' tests in the order they were recorded: of several of a test the last counts. */
export async function loadTestEnergy(
	db: Reader,
	lotIds: readonly number[]
): Promise<EnergyReading[]> {
	const rows = await db
		.select({ reading: energyReading })
		.from(testBatch)
		.innerJoin(energyReading, eq(energyReading.testBatchId, testBatch.id))
		.where(inArray(testBatch.lotId, [...lotIds]))
		.orderBy(asc(energyReading.id));
	return rows.map(({ reading }) => reading);
}

/** Readings of production in the order they were recorded: of several of a batch the last counts. */
export async function loadProductionEnergy(
	db: Reader,
	which: { readonly fromMs: number; readonly toMs: number } | { readonly lotIds: readonly number[] }
): Promise<EnergyReading[]> {
	const rows = await db
		.select({ reading: energyReading })
		.from(energyReading)
		.innerJoin(production, eq(production.id, energyReading.productionId))
		.where(
			'lotIds' in which
				? inArray(production.lotId, [...which.lotIds])
				: between(production.roastedAt, which.fromMs, which.toMs)
		)
		.orderBy(asc(energyReading.id));
	return rows.map(({ reading }) => reading);
}

/** A roasted test as its cost asks for it. */
export interface TestToCost {
	readonly id: number;
	readonly lotId: number;
	readonly number: number;
	readonly purpose: string;
	readonly roasterId: number;
	readonly roasterName: string;
	readonly roastedAt: InstantMs;
	readonly chargeG: number;
	readonly outG: number;
	/** Whether anybody cupped it. */
	readonly isCupped: boolean;
	readonly verdict: string | null;
	/** Oldest first. */
	readonly recoveries: readonly (typeof recovery.$inferSelect)[];
}

/** Roasted tests of these lots that were not withdrawn, by lot and number. */
export async function loadTestsToCost(
	db: Reader,
	lotIds: readonly number[]
): Promise<TestToCost[]> {
	const own = and(inArray(testBatch.lotId, [...lotIds]), isNull(testBatch.withdrawnAt));
	const [tests, recoveries] = await Promise.all([
		db
			.select({
				...{ id: testBatch.id, lotId: testBatch.lotId, number: testBatch.number },
				...{
					purpose: testBatch.purpose,
					roasterId: testBatch.roasterId,
					roasterName: roaster.name
				},
				...{ roastedAt: testRoast.roastedAt, chargeG: testRoast.chargeG, outG: testRoast.outG },
				isCupped: sql<number>`exists (select 1 from ${cupping} where ${cupping.testBatchId} = ${testBatch.id})`,
				verdict: verdict.verdict
			})
			.from(testBatch)
			.innerJoin(roaster, eq(roaster.id, testBatch.roasterId))
			.innerJoin(testRoast, eq(testRoast.testBatchId, testBatch.id))
			.leftJoin(verdict, eq(verdict.testBatchId, testBatch.id))
			.where(own)
			.orderBy(asc(testBatch.lotId), asc(testBatch.number)),
		db
			.select({ recovery })
			.from(testBatch)
			.innerJoin(recovery, eq(recovery.testBatchId, testBatch.id))
			.where(own)
			.orderBy(asc(recovery.at))
	]);
	const recoveriesOf = Map.groupBy(recoveries, (row) => row.recovery.testBatchId);
	return tests.map((test) => ({
		...test,
		isCupped: test.isCupped === 1,
		recoveries: (recoveriesOf.get(test.id) ?? []).map((row) => row.recovery)
	}));
}

/** A roasted test in short. */
export interface RoastedTest {
	readonly id: number;
	readonly roastedAt: InstantMs;
	readonly chargeG: number;
	readonly roasterName: string;
}

/** Every roasted test that was not withdrawn, by lot. */
export async function loadRoastedTests(
	db: Reader
): Promise<ReadonlyMap<number, readonly RoastedTest[]>> {
	const rows = await db.all<RoastedTest & { readonly lotId: number }>(sql`
		SELECT b.lot_id AS lotId, b.id AS id, t.roasted_at AS roastedAt, t.charge_g AS chargeG, r.name AS roasterName
		FROM ${testRoast} t JOIN ${testBatch} b ON b.id = t.test_batch_id JOIN ${roaster} r ON r.id = b.roaster_id
		WHERE b.withdrawn_at IS NULL ORDER BY b.lot_id, b.number`);
	return Map.groupBy(rows, ({ lotId }) => lotId);
}

/** Production of one lot for one product on one roaster between two bounds. */
export interface MadeBetween {
	/** Which span: `bounds[span]` up to before `bounds[span + 1]`. */
	readonly span: number;
	readonly lotId: number;
	readonly productId: number;
	readonly roasterId: number;
	readonly batches: number;
	readonly greenG: number;
	readonly outG: number;
}

/**
 * Production summed by span, lot, product and roaster: ten years of batches are added up by the database.
 * @param bounds rising instants; two at least give a span
 */
export async function loadMadeBetween(
	db: Reader,
	bounds: readonly InstantMs[]
): Promise<MadeBetween[]> {
	if (bounds.length < 2) return [];
	const spans = bounds.slice(1).map((end, span) => sql`(${span}, ${bounds[span]!}, ${end})`);
	return db.all<MadeBetween>(sql`
		WITH span(n, from_ms, to_ms) AS (VALUES ${sql.join(spans, sql`, `)})
		SELECT span.n AS span, p.lot_id AS lotId, p.product_id AS productId, p.roaster_id AS roasterId,
			count(*) AS batches, sum(p.charge_g) AS greenG, sum(p.out_g) AS outG
		FROM span CROSS JOIN ${production} AS p
			ON p.roasted_at >= span.from_ms AND p.roasted_at < span.to_ms
		GROUP BY span.n, p.lot_id, p.product_id, p.roaster_id`);
}

/** Budgets of testing by period, oldest first. */
export async function loadTestBudgets(db: Reader): Promise<TestBudget[]> {
	return db.select().from(testBudget).orderBy(asc(testBudget.period));
}

/** The accounts that were chosen; sides without one are posted to the usual account. */
export async function loadJournalAccounts(db: Reader): Promise<JournalAccountRow[]> {
	return db.select().from(journalAccount).orderBy(asc(journalAccount.side));
}

/** What tests were kept to count for when months were closed, by test and month. */
export async function loadPostings(db: Reader): Promise<Posting[]> {
	return db
		.select({
			testId: testPosting.testBatchId,
			month: testPosting.month,
			amounts: testPosting.amounts
		})
		.from(testPosting)
		.orderBy(asc(testPosting.testBatchId), asc(testPosting.month));
}

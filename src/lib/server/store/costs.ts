import { asc, sql } from 'drizzle-orm';
import type { Posting } from '#lib/domain/cost/posting.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { Reader } from '../db/client.ts';
import {
	energyReading,
	journalAccount,
	production,
	testBudget,
	testPosting
} from '../db/schema.ts';

/** Records that only costs are worked out from. */

export type EnergyReading = typeof energyReading.$inferSelect;
export type TestBudget = typeof testBudget.$inferSelect;
export type JournalAccountRow = typeof journalAccount.$inferSelect;

/** Every reading of meters in the order they were recorded: of several of a batch the last counts. */
export async function loadEnergyReadings(db: Reader): Promise<EnergyReading[]> {
	return db.select().from(energyReading).orderBy(asc(energyReading.id));
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

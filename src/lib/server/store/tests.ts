import { and, asc, desc, eq, inArray, isNull, type SQL } from 'drizzle-orm';
import type { ApprovedLoss } from '#lib/domain/cost/loss.ts';
import type { Reader } from '../db/client.ts';
import {
	lot,
	recipe,
	recovery,
	roaster,
	testBatch,
	testProposal,
	testRoast,
	verdict
} from '../db/schema.ts';
import { loadCuppings, type Cupping } from './cuppings.ts';
import { ofLot, type LotIds } from './lots.ts';

export type TestBatch = typeof testBatch.$inferSelect;
export type TestRoast = typeof testRoast.$inferSelect;
export type VerdictRow = typeof verdict.$inferSelect;
export type Recovery = typeof recovery.$inferSelect;
export type ProposalRow = typeof testProposal.$inferSelect;
export type Recipe = typeof recipe.$inferSelect;

/** One test with all that was recorded about it. */
export interface TestRecord {
	readonly batch: TestBatch;
	readonly lotCode: string;
	readonly lotName: string;
	readonly roasterName: string;
	readonly roast: TestRoast | null;
	readonly cuppings: readonly Cupping[];
	readonly verdict: VerdictRow | null;
	readonly recoveries: readonly Recovery[];
}

/** Tests that were not withdrawn, by lot and number; of lots or one test's where asked. */
export async function loadTests(
	db: Reader,
	only: { lotId?: LotIds; testBatchId?: number } = {}
): Promise<TestRecord[]> {
	const where: (SQL | undefined)[] = [isNull(testBatch.withdrawnAt)];
	if (only.lotId !== undefined) where.push(ofLot(testBatch.lotId, only.lotId));
	if (only.testBatchId !== undefined) where.push(eq(testBatch.id, only.testBatchId));
	const [rows, cuppings, recoveries] = await Promise.all([
		db
			.select({ batch: testBatch, lot, roaster, roast: testRoast, verdict })
			.from(testBatch)
			.innerJoin(lot, eq(lot.id, testBatch.lotId))
			.innerJoin(roaster, eq(roaster.id, testBatch.roasterId))
			.leftJoin(testRoast, eq(testRoast.testBatchId, testBatch.id))
			.leftJoin(verdict, eq(verdict.testBatchId, testBatch.id))
			.where(and(...where))
			.orderBy(asc(testBatch.lotId), asc(testBatch.number)),
		loadCuppings(db, { ...only, ofTests: true }),
		db
			.select({ recovery })
			.from(recovery)
			.innerJoin(testBatch, eq(testBatch.id, recovery.testBatchId))
			.where(and(...where))
			.orderBy(asc(recovery.at))
	]);
	const cuppingsOf = Map.groupBy(cuppings, (c) => c.testBatchId);
	const recoveriesOf = Map.groupBy(recoveries, (r) => r.recovery.testBatchId);
	return rows.map((row) => ({
		batch: row.batch,
		lotCode: row.lot.code,
		lotName: row.lot.name,
		roasterName: row.roaster.name,
		roast: row.roast,
		verdict: row.verdict,
		cuppings: cuppingsOf.get(row.batch.id) ?? [],
		recoveries: (recoveriesOf.get(row.batch.id) ?? []).map((r) => r.recovery)
	}));
}

/** A test by its lot's code and its number, or null. */
export async function findTest(
	db: Reader,
	lotCode: string,
	number: number
): Promise<TestRecord | null> {
	const rows = await db
		.select({ id: testBatch.id })
		.from(testBatch)
		.innerJoin(lot, eq(lot.id, testBatch.lotId))
		.where(and(eq(lot.code, lotCode), eq(testBatch.number, number)));
	const found = rows[0];
	if (!found) return null;
	return (await loadTests(db, { testBatchId: found.id }))[0] ?? null;
}

/** Lots of which a test was roasted on a roaster. */
export async function loadLotsTestedOn(
	db: Reader,
	roasterId: number
): Promise<ReadonlySet<number>> {
	const rows = await db
		.selectDistinct({ lotId: testBatch.lotId })
		.from(testBatch)
		.innerJoin(testRoast, eq(testRoast.testBatchId, testBatch.id))
		.where(eq(testBatch.roasterId, roasterId));
	return new Set(rows.map(({ lotId }) => lotId));
}

/** By lot, the roaster of its latest test. */
export async function loadTestRoasters(
	db: Reader,
	lotIds: readonly number[]
): Promise<ReadonlyMap<number, number>> {
	const rows = await db
		.select({ lotId: testBatch.lotId, roasterId: testBatch.roasterId })
		.from(testBatch)
		.where(and(inArray(testBatch.lotId, [...lotIds]), isNull(testBatch.withdrawnAt)))
		.orderBy(asc(testBatch.number));
	return new Map(rows.map(({ lotId, roasterId }) => [lotId, roasterId]));
}

/** The proposal that a test was planned from; null where it came from none. */
export async function loadProposal(db: Reader, testBatchId: number): Promise<ProposalRow | null> {
	const rows = await db
		.select()
		.from(testProposal)
		.where(eq(testProposal.testBatchId, testBatchId));
	return rows[0] ?? null;
}

/** Recipes of lots, newest version first; all lots' without an id. */
export async function loadRecipes(db: Reader, lotId?: LotIds): Promise<Recipe[]> {
	return db.select().from(recipe).where(ofLot(recipe.lotId, lotId)).orderBy(desc(recipe.version));
}

/** What recipes of all lots said of weight loss when they were approved, newest version first. */
export async function loadApprovedLosses(db: Reader): Promise<ApprovedLoss[]> {
	return db
		.select({
			...{ lotId: recipe.lotId, approvedAt: recipe.approvedAt },
			...{ weightLossPpm: recipe.weightLossPpm, version: recipe.version, kind: lot.kind }
		})
		.from(recipe)
		.innerJoin(lot, eq(lot.id, recipe.lotId))
		.orderBy(desc(recipe.version));
}

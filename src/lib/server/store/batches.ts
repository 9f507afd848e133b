import { and, asc, desc, eq, gte, inArray, isNull, lt } from 'drizzle-orm';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { Reader } from '../db/client.ts';
import {
	lot,
	product,
	production,
	roaster,
	roastLog,
	slot,
	testBatch,
	testRoast
} from '../db/schema.ts';

export type Production = typeof production.$inferSelect;

/** A production batch with what it is called by. */
export interface BatchRecord {
	readonly batch: Production;
	readonly lotCode: string;
	readonly lotName: string;
	readonly productCode: string;
	readonly productName: string;
	readonly roasterCode: string;
	readonly roasterName: string;
}

/** Production batches, oldest first, narrowed by what is given. */
export async function loadBatches(
	db: Reader,
	only: {
		readonly lotId?: number;
		readonly ids?: readonly number[];
		/** Roasted from this moment on. */
		readonly fromMs?: InstantMs;
		readonly toMs?: InstantMs;
		readonly unlogged?: boolean;
		/** At most so many, the newest. */
		readonly newest?: number;
	}
): Promise<BatchRecord[]> {
	const where = [
		only.lotId === undefined ? undefined : eq(production.lotId, only.lotId),
		only.ids === undefined ? undefined : inArray(production.id, [...only.ids]),
		only.fromMs === undefined ? undefined : gte(production.roastedAt, only.fromMs),
		only.toMs === undefined ? undefined : lt(production.roastedAt, only.toMs),
		only.unlogged ? isNull(production.logId) : undefined
	];
	const asked = db
		.select({ batch: production, lot, product, roaster })
		.from(production)
		.innerJoin(lot, eq(lot.id, production.lotId))
		.innerJoin(product, eq(product.id, production.productId))
		.innerJoin(roaster, eq(roaster.id, production.roasterId))
		.where(and(...where))
		.orderBy(desc(production.roastedAt), desc(production.id));
	const rows = await (only.newest === undefined ? asked : asked.limit(only.newest));
	return rows.reverse().map((row) => ({
		batch: row.batch,
		lotCode: row.lot.code,
		lotName: row.lot.name,
		productCode: row.product.code,
		productName: row.product.name,
		roasterCode: row.roaster.code,
		roasterName: row.roaster.name
	}));
}

/** One production batch, or null. */
export async function findBatch(db: Reader, id: number): Promise<BatchRecord | null> {
	return (await loadBatches(db, { ids: [id] }))[0] ?? null;
}

/** A test that was roasted without a log. */
export interface UnloggedTest {
	readonly testBatchId: number;
	readonly lot: string;
	readonly number: number;
	readonly roastedAt: InstantMs;
	readonly chargeG: number;
	readonly roasterName: string;
}

/** Tests that were roasted and have no log, newest first. */
export async function loadUnloggedTests(db: Reader): Promise<UnloggedTest[]> {
	const rows = await db
		.select({ batch: testBatch, roast: testRoast, lot: lot.code, roasterName: roaster.name })
		.from(testRoast)
		.innerJoin(testBatch, eq(testBatch.id, testRoast.testBatchId))
		.innerJoin(lot, eq(lot.id, testBatch.lotId))
		.innerJoin(roaster, eq(roaster.id, testBatch.roasterId))
		.where(and(isNull(testRoast.logId), isNull(testBatch.withdrawnAt)))
		.orderBy(desc(testRoast.roastedAt));
	return rows.map(({ batch, roast, ...row }) => ({
		...row,
		testBatchId: batch.id,
		number: batch.number,
		roastedAt: roast.roastedAt,
		chargeG: roast.chargeG
	}));
}

/** Production batches that a log belongs to, with its hash, for those of these hashes. */
export async function loadBatchesByHash(
	db: Reader,
	hashes: readonly string[]
): Promise<{ sha256: string; fileName: string; productionId: number; lotCode: string }[]> {
	if (hashes.length === 0) return [];
	return db
		.select({
			sha256: roastLog.sha256,
			fileName: roastLog.fileName,
			productionId: production.id,
			lotCode: lot.code
		})
		.from(roastLog)
		.innerJoin(production, eq(production.logId, roastLog.id))
		.innerJoin(lot, eq(lot.id, production.lotId))
		.where(inArray(roastLog.sha256, [...hashes]));
}

/** Planned slots of a lot that have not ended at an instant, by start. */
export async function loadSlotsOfLot(db: Reader, lotId: number, fromMs: InstantMs) {
	return db
		.select()
		.from(slot)
		.where(and(eq(slot.lotId, lotId), gte(slot.endAt, fromMs)))
		.orderBy(asc(slot.startAt));
}

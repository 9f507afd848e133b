import {
	and,
	asc,
	count,
	eq,
	gt,
	gte,
	inArray,
	isNotNull,
	lte,
	max,
	ne,
	sql,
	sum
} from 'drizzle-orm';
import type { Reader } from '../db/client.ts';
import type { Slot as PlannedSlot } from '#lib/domain/plan/plan.ts';
import {
	blendPart,
	demand,
	product,
	production,
	slot,
	testBatch,
	testRoast,
	weekChange,
	weekPlan
} from '../db/schema.ts';

export type Product = typeof product.$inferSelect;
export type BlendPart = typeof blendPart.$inferSelect;
export type DemandRow = typeof demand.$inferSelect;
export type Production = typeof production.$inferSelect;
export type Slot = typeof slot.$inferSelect;
export type WeekChange = typeof weekChange.$inferSelect;
export type WeekPlanRow = typeof weekPlan.$inferSelect;

/** Every product by code. */
export async function loadProducts(db: Reader): Promise<Product[]> {
	return db.select().from(product).orderBy(asc(product.code));
}

const blendsKept = new WeakMap<
	Reader,
	{ readonly stamp: string; readonly parts: readonly BlendPart[] }
>();

/** Every blend part, by product and day; kept until a block of them is saved. */
export async function loadBlendParts(db: Reader): Promise<readonly BlendPart[]> {
	const [rows] = await db.select({ rows: count(), newest: max(blendPart.id) }).from(blendPart);
	const stamp = `${rows!.rows} ${rows!.newest}`;
	const had = blendsKept.get(db);
	if (had?.stamp === stamp) return had.parts;
	const parts = await db
		.select()
		.from(blendPart)
		.orderBy(asc(blendPart.productId), asc(blendPart.fromDay), asc(blendPart.id));
	blendsKept.set(db, { stamp, parts });
	return parts;
}

/** Weekly demand from a week on, by week. */
export async function loadDemand(db: Reader, fromWeek: string): Promise<DemandRow[]> {
	return db
		.select()
		.from(demand)
		.where(gte(demand.week, fromWeek))
		.orderBy(asc(demand.week), asc(demand.productId));
}

/** Charge and out grams of every lot's production so far, by lot id. */
export async function loadProducedTotals(
	db: Reader
): Promise<Map<number, { chargeG: number; outG: number }>> {
	const rows = await db
		.select({
			lotId: production.lotId,
			chargeG: sum(production.chargeG),
			outG: sum(production.outG)
		})
		.from(production)
		.groupBy(production.lotId);
	return new Map(rows.map((r) => [r.lotId, { chargeG: Number(r.chargeG), outG: Number(r.outG) }]));
}

/** Production between two instants, both included, oldest first. */
export async function loadProduction(
	db: Reader,
	fromMs: number,
	toMs: number
): Promise<Production[]> {
	return db
		.select()
		.from(production)
		.where(and(gte(production.roastedAt, fromMs), lte(production.roastedAt, toMs)))
		.orderBy(asc(production.roastedAt));
}

/** Production of these lots, oldest first. */
export async function loadProductionOf(
	db: Reader,
	lotIds: readonly number[]
): Promise<Production[]> {
	return db
		.select()
		.from(production)
		.where(inArray(production.lotId, [...lotIds]))
		.orderBy(asc(production.roastedAt));
}

/** The slots of an ISO week, by roaster and start. */
export async function loadSlots(db: Reader, week: string): Promise<Slot[]> {
	return db
		.select()
		.from(slot)
		.where(eq(slot.week, week))
		.orderBy(asc(slot.roasterId), asc(slot.startAt));
}

/** The slots of every week that have not ended at an instant, by start. */
export async function loadSlotsAhead(db: Reader, fromMs: number): Promise<Slot[]> {
	return db.select().from(slot).where(gt(slot.endAt, fromMs)).orderBy(asc(slot.startAt));
}

/** The slots of other weeks that have not ended at an instant, by start. */
export async function loadSlotsElsewhere(
	db: Reader,
	week: string,
	fromMs: number
): Promise<Slot[]> {
	return db
		.select()
		.from(slot)
		.where(and(ne(slot.week, week), gt(slot.endAt, fromMs)))
		.orderBy(asc(slot.startAt));
}

/** The slots of every week, by week, roaster and start. */
export async function loadEverySlot(db: Reader): Promise<Slot[]> {
	return db.select().from(slot).orderBy(asc(slot.week), asc(slot.roasterId), asc(slot.startAt));
}

/** The first slot of each test that has not ended at an instant, by test batch id. */
export async function loadTestSlots(db: Reader, fromMs: number): Promise<Map<number, Slot>> {
	const rows = await db
		.select()
		.from(slot)
		.where(and(isNotNull(slot.testBatchId), gte(slot.endAt, fromMs)))
		.orderBy(asc(slot.startAt));
	const first = new Map<number, Slot>();
	for (const row of rows) if (!first.has(row.testBatchId!)) first.set(row.testBatchId!, row);
	return first;
}

/** Acts on a week's plan after one version of it, oldest first. */
export async function loadWeekChanges(
	db: Reader,
	week: string,
	afterVersion = 0
): Promise<WeekChange[]> {
	return db
		.select()
		.from(weekChange)
		.where(and(eq(weekChange.week, week), gt(weekChange.version, afterVersion)))
		.orderBy(asc(weekChange.version));
}

/** When and by whom a week was last planned, with what did not fit; null when it never was. */
export async function loadWeekPlan(db: Reader, week: string): Promise<WeekPlanRow | null> {
	return (await db.select().from(weekPlan).where(eq(weekPlan.week, week)))[0] ?? null;
}

/** Charge and out grams of a lot's batches, production and tests, and how many they are. */
export interface YieldSum {
	readonly batches: number;
	readonly chargeG: number;
	readonly outG: number;
}

/** What the roasted batches of these lots weighed in all; lots without any are left out. */
export async function loadYields(
	db: Reader,
	lotIds: readonly number[]
): Promise<Map<number, YieldSum>> {
	const sums = (of: typeof production | typeof testRoast) => ({
		batches: count(),
		chargeG: sql<number>`sum(${of.chargeG})`,
		outG: sql<number>`sum(${of.outG})`
	});
	const ids = [...lotIds];
	const [produced, tested] = await Promise.all([
		db
			.select({ lotId: production.lotId, ...sums(production) })
			.from(production)
			.where(inArray(production.lotId, ids))
			.groupBy(production.lotId),
		db
			.select({ lotId: testBatch.lotId, ...sums(testRoast) })
			.from(testRoast)
			.innerJoin(testBatch, eq(testBatch.id, testRoast.testBatchId))
			.where(inArray(testBatch.lotId, ids))
			.groupBy(testBatch.lotId)
	]);
	const found = new Map<number, YieldSum>();
	for (const { lotId, batches, chargeG, outG } of [...produced, ...tested]) {
		const had = found.get(lotId);
		found.set(lotId, {
			batches: batches + (had?.batches ?? 0),
			chargeG: chargeG + (had?.chargeG ?? 0),
			outG: outG + (had?.outG ?? 0)
		});
	}
	return found;
}

/** What ran last on a roaster. */
export interface LastBatch {
	readonly roasterId: number;
	readonly lotId: number;
	/** Null for a test. */
	readonly productId: number | null;
	readonly roastedAt: number;
}

/** The last batch of each roaster up to an instant, production or test, by roaster id. */
export async function loadLastBatches(
	db: Reader,
	beforeMs: number
): Promise<Map<number, LastBatch>> {
	const [produced, tested] = await Promise.all([
		db
			.select({
				roasterId: production.roasterId,
				lotId: production.lotId,
				productId: production.productId,
				roastedAt: max(production.roastedAt)
			})
			.from(production)
			.where(lte(production.roastedAt, beforeMs))
			.groupBy(production.roasterId),
		db
			.select({
				roasterId: testBatch.roasterId,
				lotId: testBatch.lotId,
				productId: sql<null>`null`,
				roastedAt: max(testRoast.roastedAt)
			})
			.from(testRoast)
			.innerJoin(testBatch, eq(testBatch.id, testRoast.testBatchId))
			.where(lte(testRoast.roastedAt, beforeMs))
			.groupBy(testBatch.roasterId)
	]);
	const last = new Map<number, LastBatch>();
	for (const row of [...produced, ...tested]) {
		const roastedAt = row.roastedAt ?? 0;
		if (roastedAt > (last.get(row.roasterId)?.roastedAt ?? -Infinity))
			last.set(row.roasterId, { ...row, roastedAt });
	}
	return last;
}

/** A planned slot as its row. */
export function slotRow(week: string, planned: PlannedSlot): Omit<Slot, 'id'> {
	return {
		week,
		roasterId: planned.roasterId,
		startAt: planned.startMs,
		endAt: planned.endMs,
		kind: planned.kind,
		lotId: planned.lotId,
		productId: planned.productId,
		testBatchId: planned.testBatchId,
		chargeG: planned.chargeG,
		dueAt: planned.dueMs,
		why: { reasons: planned.why, setup: planned.setup },
		locked: planned.locked,
		...{ recordedAt: null, plannedStartAt: null, productionId: null, note: '' }
	};
}

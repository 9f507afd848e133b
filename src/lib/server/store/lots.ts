import {
	and,
	asc,
	count,
	desc,
	eq,
	inArray,
	isNull,
	max,
	min,
	ne,
	sql,
	sum,
	type SQL
} from 'drizzle-orm';
import type { SQLiteColumn } from 'drizzle-orm/sqlite-core';
import type { LotEvents, TestEvents, Verdict } from '#lib/domain/lot/lot.ts';
import type { Movement, MovementKind } from '#lib/domain/ledger/movement.ts';
import type { Reader } from '../db/client.ts';
import {
	audit,
	cupping,
	lot,
	lotTurn,
	measurement,
	movement,
	priceTerms,
	release,
	sampleRoast,
	testBatch,
	testRoast,
	verdict
} from '../db/schema.ts';

export type Lot = typeof lot.$inferSelect;
export type Measurement = typeof measurement.$inferSelect;
export type PriceTermsRow = typeof priceTerms.$inferSelect;
export type Release = typeof release.$inferSelect;
export type LotTurn = typeof lotTurn.$inferSelect;
export type AuditRow = typeof audit.$inferSelect;
export type MovementRow = Movement & {
	readonly id: number;
	readonly sampleId: number | null;
	readonly testBatchId: number | null;
	readonly productionId: number | null;
	/** When it happened, where that lay in a closed period; else null. */
	readonly happenedAt: number | null;
};

/** One lot, or several. */
export type LotIds = number | readonly number[];

/** Every lot by code; those asked for where ids are given. */
export async function loadLots(db: Reader, lotIds?: LotIds): Promise<Lot[]> {
	return db.select().from(lot).where(ofLot(lot.id, lotIds)).orderBy(asc(lot.code));
}

/** How many lots each supplier has, those without a supplier left out. */
export async function countLotsBySupplier(db: Reader): Promise<ReadonlyMap<string, number>> {
	const rows = await db
		.select({ supplier: lot.supplier, lots: count() })
		.from(lot)
		.where(ne(lot.supplier, ''))
		.groupBy(lot.supplier);
	return new Map(rows.map(({ supplier, lots }) => [supplier, lots]));
}

/** One lot by its code, or null. */
export async function findLot(db: Reader, code: string): Promise<Lot | null> {
	return (await db.select().from(lot).where(eq(lot.code, code)))[0] ?? null;
}

/** Limits a query to the lots whose ids are given. */
export function ofLot(column: SQLiteColumn, lotIds: LotIds | undefined): SQL | undefined {
	if (lotIds === undefined) return undefined;
	return typeof lotIds === 'number' ? eq(column, lotIds) : inArray(column, [...lotIds]);
}

/** What each lot's stage is derived from, by lot id; of those asked for where ids are given. */
export async function loadLotEvents(db: Reader, lotId?: LotIds): Promise<Map<number, LotEvents>> {
	const [lots, stock, received, sampled, tests, releases, turns] = await Promise.all([
		db.select({ id: lot.id, createdAt: lot.createdAt }).from(lot).where(ofLot(lot.id, lotId)),
		db
			.select({ lotId: movement.lotId, massG: sum(movement.massG), last: max(movement.at) })
			.from(movement)
			.where(ofLot(movement.lotId, lotId))
			.groupBy(movement.lotId),
		db
			.select({ lotId: movement.lotId, at: min(movement.at) })
			.from(movement)
			.where(and(eq(movement.kind, 'received'), ofLot(movement.lotId, lotId)))
			.groupBy(movement.lotId),
		db
			.select({ lotId: sampleRoast.lotId, at: min(sampleRoast.roastedAt) })
			.from(sampleRoast)
			.where(and(eq(sampleRoast.stage, 'arrival'), ofLot(sampleRoast.lotId, lotId)))
			.groupBy(sampleRoast.lotId),
		loadTestEvents(db, lotId),
		db
			.select({ lotId: release.lotId, at: release.at })
			.from(release)
			.where(ofLot(release.lotId, lotId))
			.orderBy(asc(release.at)),
		db
			.select({ lotId: lotTurn.lotId, turn: lotTurn.turn, at: lotTurn.at })
			.from(lotTurn)
			.where(ofLot(lotTurn.lotId, lotId))
			.orderBy(asc(lotTurn.at))
	]);
	const stockOf = new Map(stock.map((s) => [s.lotId, s]));
	const receivedAt = new Map(received.map((r) => [r.lotId, r.at]));
	const sampledAt = new Map(sampled.map((s) => [s.lotId, s.at]));
	const releasesOf = Map.groupBy(releases, (r) => r.lotId);
	const turnsOf = Map.groupBy(turns, (t) => t.lotId);
	return new Map(
		lots.map(({ id, createdAt }) => {
			const onHandG = Number(stockOf.get(id)?.massG ?? 0);
			const turned = turnsOf.get(id) ?? [];
			return [
				id,
				{
					createdAt,
					receivedAt: receivedAt.get(id) ?? null,
					arrivalSampleAt: sampledAt.get(id) ?? null,
					tests: tests.get(id) ?? [],
					releasedAt: (releasesOf.get(id) ?? []).map((r) => r.at),
					reopenedAt: turned.filter((t) => t.turn === 'reopened').map((t) => t.at),
					rejectedAt: turned.find((t) => t.turn === 'rejected')?.at ?? null,
					onHandG,
					emptiedAt: onHandG === 0 ? (stockOf.get(id)?.last ?? null) : null
				}
			];
		})
	);
}

async function loadTestEvents(db: Reader, lotId?: LotIds): Promise<Map<number, TestEvents[]>> {
	const rows = await db
		.select({
			lotId: testBatch.lotId,
			number: testBatch.number,
			plannedAt: testBatch.plannedAt,
			roastedAt: testRoast.roastedAt,
			cuppedAt: sql<
				number | null
			>`(select max(${cupping.cuppedAt}) from ${cupping} where ${cupping.testBatchId} = ${testBatch.id})`,
			verdictAt: verdict.at,
			verdict: verdict.verdict
		})
		.from(testBatch)
		.leftJoin(testRoast, eq(testRoast.testBatchId, testBatch.id))
		.leftJoin(verdict, eq(verdict.testBatchId, testBatch.id))
		.where(and(isNull(testBatch.withdrawnAt), ofLot(testBatch.lotId, lotId)))
		.orderBy(asc(testBatch.lotId), asc(testBatch.number));
	const events = rows.map((row) => ({ ...row, verdict: row.verdict as Verdict | null }));
	return Map.groupBy(events, (e) => e.lotId);
}

/** The ledger of lots, oldest first; every lot's without an id. */
export async function loadMovements(db: Reader, lotId?: LotIds): Promise<MovementRow[]> {
	const rows = await db
		.select()
		.from(movement)
		.where(ofLot(movement.lotId, lotId))
		.orderBy(asc(movement.at), asc(movement.id));
	return rows as MovementRow[];
}

/** A movement as the value of stock asks for it. */
export interface StockMovement extends Pick<Movement, 'at' | 'kind' | 'massG'> {
	readonly id: number;
	readonly lotId: number;
}

/** The ledger of lots as their value asks for it, oldest first; every lot's without an id. */
export async function loadStockMovements(db: Reader, lotId?: LotIds): Promise<StockMovement[]> {
	return (await db
		.select({
			...{ id: movement.id, lotId: movement.lotId, at: movement.at },
			...{ kind: movement.kind, massG: movement.massG }
		})
		.from(movement)
		.where(ofLot(movement.lotId, lotId))
		.orderBy(asc(movement.at), asc(movement.id))) as StockMovement[];
}

/** Grams of the ledger of these lots by kind, summed. */
export async function loadKindSums(
	db: Reader,
	lotIds: readonly number[]
): Promise<{ readonly lotId: number; readonly kind: MovementKind; readonly massG: number }[]> {
	const rows = await db
		.select({
			lotId: movement.lotId,
			kind: movement.kind,
			massG: sql<number>`sum(${movement.massG})`
		})
		.from(movement)
		.where(sql`${movement.lotId} in (select value from json_each(${JSON.stringify(lotIds)}))`)
		.groupBy(movement.lotId, movement.kind);
	return rows as { lotId: number; kind: MovementKind; massG: number }[];
}

/** A lot's stock in grams of green coffee. */
export async function loadOnHandG(db: Reader, lotId: number): Promise<number> {
	const rows = await db
		.select({ massG: sum(movement.massG) })
		.from(movement)
		.where(eq(movement.lotId, lotId));
	return Number(rows[0]?.massG ?? 0);
}

/** Green measurements of a lot, oldest first. */
export async function loadMeasurements(db: Reader, lotId?: number): Promise<Measurement[]> {
	return db
		.select()
		.from(measurement)
		.where(ofLot(measurement.lotId, lotId))
		.orderBy(asc(measurement.at));
}

/** Price terms, newest first; the first of a lot counts. */
export async function loadPriceTerms(db: Reader, lotId?: LotIds): Promise<PriceTermsRow[]> {
	return db
		.select()
		.from(priceTerms)
		.where(ofLot(priceTerms.lotId, lotId))
		.orderBy(desc(priceTerms.recordedAt), desc(priceTerms.id));
}

/** Releases, oldest first. */
export async function loadReleases(db: Reader, lotId?: LotIds): Promise<Release[]> {
	return db
		.select()
		.from(release)
		.where(ofLot(release.lotId, lotId))
		.orderBy(asc(release.at), asc(release.id));
}

/** Re-openings and rejections, oldest first. */
export async function loadTurns(db: Reader, lotId?: number): Promise<LotTurn[]> {
	return db.select().from(lotTurn).where(ofLot(lotTurn.lotId, lotId)).orderBy(asc(lotTurn.at));
}

/** What was done to a lot, newest first. */
export async function loadAudit(db: Reader, lotId: number, limit = 200): Promise<AuditRow[]> {
	return db
		.select()
		.from(audit)
		.where(eq(audit.lotId, lotId))
		.orderBy(desc(audit.at), desc(audit.id))
		.limit(limit);
}

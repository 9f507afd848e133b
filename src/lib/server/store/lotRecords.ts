import type { LotEvents } from '#lib/domain/lot/lot.ts';
import type { Reader } from '../db/client.ts';
import { keepByLot } from './kept.ts';
import { loadLotEvents, loadLots, type Lot } from './lots.ts';
import { loadYields, type YieldSum } from './production.ts';
import { loadTestRoasters } from './tests.ts';

/** A lot with the sums of its records that every page asks for. */
export interface LotRecord {
	readonly lot: Lot;
	readonly events: LotEvents;
	/** Null before its first batch. */
	readonly yields: YieldSum | null;
	/** Of its latest test; null before one is planned. */
	readonly testRoasterId: number | null;
}

/** Every lot's records, by lot id in the order of codes; kept from page to page. */
export const loadLotRecords = keepByLot(loadRecords);

async function loadRecords(
	db: Reader,
	lotIds: readonly number[]
): Promise<ReadonlyMap<number, LotRecord>> {
	const [lots, events, yields, roasters] = await Promise.all([
		loadLots(db, lotIds),
		loadLotEvents(db, lotIds),
		loadYields(db, lotIds),
		loadTestRoasters(db, lotIds)
	]);
	return new Map(
		lots.map((lot): [number, LotRecord] => [
			lot.id,
			{
				lot,
				events: events.get(lot.id)!,
				yields: yields.get(lot.id) ?? null,
				testRoasterId: roasters.get(lot.id) ?? null
			}
		])
	);
}

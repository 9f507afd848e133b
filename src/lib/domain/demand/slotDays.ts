import type { Day } from '../quantity/time.ts';
import { daysBetween } from '../quantity/week.ts';

/**
 * On which days a lot may have a slot for a test.
 *
 * 1. A day has as many test slots as batches fit into what production leaves of its staffed minutes. Where
 *    a week is planned that is what its slots leave; else its orders are spread over the week's minutes.
 * 2. Slots go to lots in the order of their release-by dates; a lot takes as many as it is expected to
 *    need, the earliest it can use, and one later than the one before by the test cycle.
 */

/** Free test slots of a day on one roaster. */
export interface DaySlots {
	readonly day: Day;
	readonly roasterId: number;
	readonly slots: number;
}

export interface RoasterDay {
	readonly day: Day;
	readonly roasterId: number;
	/** Minutes of staffed time in which somebody for profiling is there. */
	readonly openMin: number;
	/** Minutes of it that production takes. */
	readonly takenMin: number;
}

/** Rule 1. */
export function freeSlots(
	days: readonly RoasterDay[],
	cycleMin: ReadonlyMap<number, number>
): DaySlots[] {
	return days.map(({ day, roasterId, openMin, takenMin }) => ({
		day,
		roasterId,
		slots: Math.max(0, Math.floor((openMin - takenMin) / cycleMin.get(roasterId)!))
	}));
}

/** A lot in line for slots. */
export interface LotInLine {
	readonly lotId: number;
	readonly from: Day;
	/** Roasters on which its tests may run. */
	readonly roasterIds: readonly number[];
	/** Tests it is expected to need, to the next whole one. */
	readonly tests: number;
	/** Days between a test and the next, at least 1. */
	readonly apartDays: number;
}

/**
 * Rule 2: by lot, every day with a slot that lots before it leave, in order.
 * @param lots in the order in which slots go to them
 */
export function slotDaysByLot(
	slots: readonly DaySlots[],
	lots: readonly LotInLine[]
): ReadonlyMap<number, readonly Day[]> {
	const left = slots.map((one) => ({ ...one })).sort((a, b) => (a.day < b.day ? -1 : 1));
	const found = new Map<number, readonly Day[]>();
	for (const lot of lots) {
		const own = left.filter(
			({ roasterId, slots: free, day }) =>
				free > 0 && day >= lot.from && lot.roasterIds.includes(roasterId)
		);
		found.set(lot.lotId, [...new Set(own.map(({ day }) => day))]);
		let last: Day | null = null;
		let wanted = lot.tests;
		for (const slot of own) {
			if (wanted === 0) break;
			if (last !== null && daysBetween(last, slot.day) < lot.apartDays) continue;
			slot.slots -= 1;
			wanted -= 1;
			last = slot.day;
		}
	}
	return found;
}

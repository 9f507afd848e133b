import type { Day, IsoWeek } from '../quantity/time.ts';
import { addDays, addWeeks } from '../quantity/week.ts';
import type { DayHours, UsualWeek } from './hours.ts';

/**
 * A change to what a week is planned from, as data, and the records as they would be with it. Rules:
 * 1. A change is made to records (orders, hours, arrivals), never to a plan; what follows is derived from
 *    the changed records by the same rules as from the recorded ones.
 * 2. Several changes count in the order given: two of 10 % more are 21 % more.
 * 3. Orders change from the week planned on, for as many weeks as said. Nothing is ordered below zero, and
 *    grams are rounded once.
 * 4. A stoppage is hours of single days: the rest of its first day, whole days between, the start of its last.
 * 5. A later arrival is of a lot that is still expected; a lot that has come is left as it is.
 * 6. No change leaves every record as it is: the very same values, in the same order.
 */
export type WhatIf =
	| {
			readonly kind: 'orders';
			/** Null for every product. */
			readonly productId: number | null;
			/** Whole percent more; below zero for less, at least -100. */
			readonly percent: number;
			/** Roasted grams more in each week, after the percentage; 0 for none. */
			readonly addG: number;
			/** How many weeks it lasts, 1 for the week planned alone. */
			readonly weeks: number;
	  }
	| {
			readonly kind: 'stoppage';
			readonly roasterId: number;
			readonly fromDay: Day;
			/** Minutes after the site's midnight. */
			readonly fromMin: number;
			readonly toDay: Day;
			readonly toMin: number;
	  }
	| { readonly kind: 'arrival'; readonly lotId: number; readonly day: Day }
	| {
			readonly kind: 'shift';
			/** Null for somebody for profiling. */
			readonly roasterId: number | null;
			readonly day: Day;
			readonly startMin: number;
			readonly endMin: number;
	  };

/** What a week is planned from when something is supposed. */
export interface Supposed {
	/** The week planned. */
	readonly week: IsoWeek;
	readonly changes: readonly WhatIf[];
}

interface WeekOrder {
	readonly productId: number;
	readonly week: IsoWeek;
	readonly roastedG: number;
}

interface ExpectedLot {
	readonly id: number;
	readonly expectedOn: Day | null;
}

const LAST_MIN = 24 * 60;

/** The orders with the changes (rules 2 and 3). `blank` makes the row of a product without an order. */
export function ordersWith<T extends WeekOrder>(
	rows: readonly T[],
	{ week, changes }: Supposed,
	blank: (productId: number, week: IsoWeek) => T
): readonly T[] {
	return changes.reduce<readonly T[]>((before, change) => {
		if (change.kind !== 'orders') return before;
		const weeks = Array.from({ length: change.weeks }, (_, i) => addWeeks(week, i));
		const { productId } = change;
		const isOf = (row: WeekOrder) =>
			(productId === null || row.productId === productId) && weeks.includes(row.week);
		const without =
			productId === null || change.addG <= 0
				? []
				: weeks.filter((each) => !before.some((row) => isOf(row) && row.week === each));
		const all = [...before, ...without.map((each) => blank(productId!, each))];
		return all
			.map((row) => (isOf(row) ? { ...row, roastedG: orderWith(row.roastedG, change) } : row))
			.sort((a, b) => (a.week === b.week ? a.productId - b.productId : a.week < b.week ? -1 : 1));
	}, rows);
}

function orderWith(
	roastedG: number,
	{ percent, addG }: { readonly percent: number; readonly addG: number }
): number {
	return Math.max(0, Math.round((roastedG * (100 + percent)) / 100) + addG);
}

/** The hours with the changes (rule 4). */
export function hoursWith(usual: UsualWeek, changes: readonly WhatIf[]): UsualWeek {
	const added = notYetIn(usual.days ?? [], changes.flatMap(dayHoursOf));
	return added.length === 0 ? usual : { ...usual, days: [...(usual.days ?? []), ...added] };
}

/** Hours of single days that are not among those there already. */
export function notYetIn<T extends DayHours>(there: readonly DayHours[], rows: readonly T[]): T[] {
	const key = ({ kind, roasterId, day, startMin, endMin }: DayHours) =>
		`${kind} ${roasterId} ${day} ${startMin} ${endMin}`;
	const known = new Set(there.map(key));
	return rows.filter((row) => !known.has(key(row)));
}

/** What a change adds to the hours of single days; nothing where it is none of hours. */
export function dayHoursOf(change: WhatIf): readonly DayHours[] {
	if (change.kind === 'shift') {
		const { roasterId, day, startMin, endMin } = change;
		return [{ kind: roasterId === null ? 'profiling' : 'shift', roasterId, day, startMin, endMin }];
	}
	if (change.kind !== 'stoppage') return [];
	const { roasterId, fromDay, toDay } = change;
	const hours: DayHours[] = [];
	for (let day = fromDay; day <= toDay; day = addDays(day, 1)) {
		const startMin = day === fromDay ? change.fromMin : 0;
		const endMin = day === toDay ? change.toMin : LAST_MIN;
		if (endMin > startMin) hours.push({ kind: 'stoppage', roasterId, day, startMin, endMin });
	}
	return hours;
}

/** The lots with the changes (rule 5). */
export function lotsWith<T extends ExpectedLot>(
	lots: readonly T[],
	changes: readonly WhatIf[]
): readonly T[] {
	const days = new Map(
		changes.flatMap((change) => (change.kind === 'arrival' ? [[change.lotId, change.day]] : []))
	);
	if (days.size === 0) return lots;
	return lots.map((lot) => {
		const day = days.get(lot.id);
		return day === undefined || lot.expectedOn === null ? lot : { ...lot, expectedOn: day };
	});
}

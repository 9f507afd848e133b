import { copySlots, type Copied } from '#lib/domain/plan/copy.ts';
import type { InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import {
	addWeeks,
	dayOf,
	daysOfWeek,
	instantAt,
	minuteOfDay,
	weekdayOf
} from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadSlots, loadWeekPlan, type Slot } from '../store/production.ts';
import { loadTests } from '../store/tests.ts';
import { loadWeekProblem, type WeekProblem } from './planProblem.ts';
import { momentOf } from './moment.ts';
import { loadRoastery } from './roastery.ts';
import { namesOf, slotWords } from './week.ts';
import { momentShortWords } from './words.ts';

/** What of the week before can be copied, worked out and not done. */
export interface WorkedOutCopy extends WeekProblem {
	readonly from: IsoWeek;
	readonly copied: Copied;
	/** For each slot of the week before that can't be copied, why. */
	readonly left: readonly string[];
}

/** Puts the slots of the week before at the same weekdays and times of the clock, as far as they fit. */
export async function workOutCopy(
	db: Reader,
	now: InstantMs,
	week: IsoWeek
): Promise<WorkedOutCopy> {
	const roastery = await loadRoastery(db, now);
	const zone = roastery.site.timeZone;
	const from = addWeeks(week, -1);
	const [made, rows, tests] = await Promise.all([
		loadWeekProblem(db, roastery, week),
		loadSlots(db, from),
		loadTests(db)
	]);
	const names = namesOf(roastery, tests);
	const inOrder = rows.toSorted((a, b) => a.startAt - b.startAt);
	const wishes = inOrder.map(({ kind, roasterId, startAt, lotId, productId, chargeG }) => ({
		kind: kind as 'production' | 'test',
		startMs: sameTimeIn(week, startAt, zone),
		...{ roasterId, lotId, productId, chargeG }
	}));
	const copied = copySlots(made.problem, wishes);
	const said = (row: Slot, text: string) =>
		`${slotWords(row, names)}, ${momentShortWords(momentOf(row.startAt, zone))}: ${text}.`;
	return {
		...made,
		...{ from, copied },
		left: copied.left.map(({ index, text }) => said(inOrder[index]!, text))
	};
}

function sameTimeIn(week: IsoWeek, atMs: InstantMs, zone: string): InstantMs {
	const day = daysOfWeek(week)[weekdayOf(dayOf(atMs, zone)) - 1]!;
	return instantAt(day, minuteOfDay(atMs, zone), zone);
}

/** What copying the week before would do, for the page. */
export interface CopyView {
	readonly from: IsoWeek;
	readonly copied: number;
	readonly left: readonly string[];
	readonly version: number;
}

/** What copying the week before would do. */
export async function loadCopy(db: Reader, now: InstantMs, week: IsoWeek): Promise<CopyView> {
	const [{ from, copied, left }, plan] = await Promise.all([
		workOutCopy(db, now, week),
		loadWeekPlan(db, week)
	]);
	return { from, copied: copied.slots.length, left, version: plan?.version ?? 0 };
}

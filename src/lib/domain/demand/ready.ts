import type { ReleaseBy } from '../lot/lot.ts';
import type { Day } from '../quantity/time.ts';
import { addDays, weekdayOf } from '../quantity/week.ts';
import type { TestsOutlook } from '../trial/outlook.ts';

/**
 * When a lot will be ready, and the chance that this is in time.
 * 1. Tests still needed come as chances; each takes a cycle of working days from its roast to its
 *    verdict, the next one follows the verdict, and the last verdict makes the lot ready.
 * 2. Too late: not even the fewest tests that must be roasted can be done by the date.
 * 3. At risk: the chance is below 80 %; a limit of ours, no source.
 * 4. A test is roasted on a day with a free slot for it. Beyond the days looked ahead every working day
 *    counts as one, which is hopeful.
 * 5. Stock that is used faster or slower than expected moves the date: the chance is summed over the days
 *    on which it may fall, which are independent of the tests. It is worked out exactly, not drawn.
 */

/** The least chance that counts as in time. */
export const SAFE_CHANCE = 0.8;

/** Monday to Friday, as ISO weekdays. */
export const MONDAY_TO_FRIDAY: readonly number[] = [1, 2, 3, 4, 5];

export interface ReadyFacts {
	/** The first day on which a test can be roasted: today, or the arrival of the lot. */
	readonly from: Day;
	readonly tests: Pick<TestsOutlook, 'chances' | 'chanceBeyond'>;
	/** Tests that must be roasted whatever they show: 1, more when more are planned for sure, 0 when the
	 * approved test only waits for its sign-off. */
	readonly fewestTests: number;
	/** Working days from a test's roast to the next, verdict included. */
	readonly cycleDays: number;
	/** ISO weekdays, Monday is 1. */
	readonly workingWeekdays: readonly number[];
	readonly releaseBy: ReleaseBy | null;
	/** Days with a slot for a test of this lot, in order; every working day where left out. */
	readonly slotDays?: readonly Day[];
	/** Where the date may fall; on that of `releaseBy` for certain where left out. */
	readonly mayFall?: readonly DayChance[];
}

export interface DayChance {
	readonly day: Day;
	readonly chance: number;
}

export type ReadyState = 'in time' | 'at risk' | 'too late' | 'no date';

export interface ReadyDay {
	readonly tests: number;
	readonly day: Day;
	/** Chance that the lot is ready on this day. */
	readonly chance: number;
	/** Chance that it is ready by this day. */
	readonly by: number;
}

export interface ReadyOutlook {
	readonly state: ReadyState;
	/** Null without a date. */
	readonly chanceInTime: number | null;
	/** If the fewest tests suffice. */
	readonly earliestDay: Day;
	/** The first day by which it is ready with a chance of a half, and of 80 %; null beyond `days`. */
	readonly middleDay: Day | null;
	readonly safeDay: Day | null;
	readonly days: readonly ReadyDay[];
	/** Chance that it takes longer than `days` tells. */
	readonly chanceBeyond: number;
	/** Data first. */
	readonly because: readonly string[];
}

/**
 * The outlook of one lot.
 * @throws RangeError when a count is not whole or below its least, or no weekday is worked
 */
export function readyOutlook(facts: ReadyFacts): ReadyOutlook {
	checkFacts(facts);
	const days = readyDays(facts);
	const earliestDay = dayAfter(facts, facts.fewestTests);
	const by = facts.releaseBy?.day ?? null;
	const chanceInTime =
		by === null ? null : chanceBefore(days, facts.mayFall ?? [{ day: by, chance: 1 }]);
	const state = stateOf(by, earliestDay, chanceInTime);
	return {
		state,
		chanceInTime,
		earliestDay,
		middleDay: firstBy(days, 0.5),
		safeDay: firstBy(days, SAFE_CHANCE),
		days,
		chanceBeyond: facts.tests.chanceBeyond,
		because: reasons(facts, earliestDay, state, chanceInTime)
	};
}

/** Rule 5. */
function chanceBefore(days: readonly ReadyDay[], mayFall: readonly DayChance[]): number {
	return mayFall.reduce(
		(sum, { day: by, chance }) => sum + chance * (days.findLast(({ day }) => day <= by)?.by ?? 0),
		0
	);
}

function readyDays(facts: ReadyFacts): readonly ReadyDay[] {
	const chances = new Map<number, number>([[facts.fewestTests, 0]]);
	for (const { tests, chance } of facts.tests.chances) {
		const count = Math.max(tests, facts.fewestTests);
		chances.set(count, (chances.get(count) ?? 0) + chance);
	}
	let by = 0;
	return [...chances]
		.sort(([a], [b]) => a - b)
		.map(([tests, chance]) => {
			by += chance;
			return { tests, day: dayAfter(facts, tests), chance, by: Math.min(1, by) };
		});
}

/** The day of the last verdict when so many tests are roasted from the first day on (rules 1 and 4). */
function dayAfter(facts: ReadyFacts, tests: number): Day {
	let day = facts.from;
	for (let left = tests; left > 0; left -= 1) {
		day = workedAfter(facts, nextSlot(facts, day), facts.cycleDays);
	}
	return day;
}

/** The first day from `from` on with a slot. */
function nextSlot(facts: ReadyFacts, from: Day): Day {
	return facts.slotDays?.find((day) => day >= from) ?? workedAfter(facts, from, 0);
}

/** So many worked days after the first worked day from `from` on. */
function workedAfter({ workingWeekdays }: ReadyFacts, from: Day, count: number): Day {
	const first = weekdayOf(from);
	const isWorked = (ahead: number) => workingWeekdays.includes(((first - 1 + ahead) % 7) + 1);
	let ahead = 0;
	while (!isWorked(ahead)) ahead += 1;
	for (let left = count; left > 0;) {
		ahead += 1;
		if (isWorked(ahead)) left -= 1;
	}
	return addDays(from, ahead);
}

function stateOf(by: Day | null, earliestDay: Day, chanceInTime: number | null): ReadyState {
	if (by === null || chanceInTime === null) return 'no date';
	if (earliestDay > by) return 'too late';
	// A chance that meets the limit to within rounding meets it.
	return chanceInTime < SAFE_CHANCE - 1e-9 ? 'at risk' : 'in time';
}

function firstBy(days: readonly ReadyDay[], level: number): Day | null {
	return days.find(({ by }) => by >= level - 1e-9)?.day ?? null;
}

function reasons(
	{ from, fewestTests, cycleDays, releaseBy, slotDays, mayFall }: ReadyFacts,
	earliestDay: Day,
	state: ReadyState,
	chanceInTime: number | null
): readonly string[] {
	const tests = `${fewestTests} ${fewestTests === 1 ? 'test' : 'tests'}`;
	const slot = slotDays?.find((day) => day >= from);
	const cycle =
		`${cycleDays} working ${cycleDays === 1 ? 'day' : 'days'} each` +
		(slot && slot > from ? `, first free slot ${slot}` : '');
	const work =
		fewestTests === 0
			? `Ready to release from ${from}: no further test is needed.`
			: `Earliest ready ${earliestDay}: at least ${tests}, ${cycle}, from ${from}.`;
	if (releaseBy === null || chanceInTime === null) return [work, 'No release-by date to meet.'];
	const date = `Release by ${releaseBy.day}. ${releaseBy.because}${rangeText(mayFall)}`;
	if (state === 'too late') {
		const late = fewestTests === 0 ? 'That day has passed' : 'Even the fewest tests end after that';
		const yet =
			chanceInTime < 0.005 ? '.' : `; ${percent(chanceInTime)} if the stock lasts longer.`;
		return [work, date, late + yet];
	}
	const chance = `${percent(chanceInTime)} chance of being ready by then`;
	const limit = `${SAFE_CHANCE * 100} %`;
	return [work, date, state === 'at risk' ? `${chance}, below ${limit}.` : `${chance}.`];
}

const percent = (chance: number) => `${Math.round(chance * 100)} %`;

/** Where the date falls four times in five. */
function rangeText(mayFall: readonly DayChance[] = []): string {
	if (mayFall.length < 2) return '';
	const sorted = [...mayFall].sort((a, b) => (a.day < b.day ? -1 : 1));
	const reach = (level: number) => {
		let sum = 0;
		return sorted.find(({ chance }) => (sum += chance) >= level - 1e-9)!.day;
	};
	return ` As use goes up and down, ${reach(0.1)} to ${reach(0.9)}.`;
}

function checkFacts({ fewestTests, cycleDays, workingWeekdays }: ReadyFacts): void {
	if (!Number.isInteger(fewestTests) || fewestTests < 0) {
		throw new RangeError(`fewest tests must be a whole number from 0, found ${fewestTests}`);
	}
	if (!Number.isInteger(cycleDays) || cycleDays < 1) {
		throw new RangeError(`days of a test cycle must be a whole number from 1, found ${cycleDays}`);
	}
	if (!workingWeekdays.some((weekday) => weekday >= 1 && weekday <= 7)) {
		throw new RangeError('at least one weekday from 1 to 7 must be worked');
	}
}

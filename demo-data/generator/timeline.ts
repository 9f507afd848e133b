import { addDays } from '#lib/domain/quantity/week.ts';
import type { Day } from '#lib/domain/quantity/time.ts';
import { onOrBefore, workdaysAfter } from './calendar.ts';
import type { Chance } from './chance.ts';
import { cuppingDay } from './programme.ts';

/** The days of one test. */
export interface TestDays {
	readonly planned: Day;
	readonly roasted: Day | null;
	readonly cupped: Day | null;
	readonly judged: Day | null;
}

/** The days of a lot's life up to its release, as far as it has come. */
export interface LifeDays {
	readonly created: Day;
	readonly expected: Day;
	readonly received: Day | null;
	readonly sampled: Day | null;
	readonly tests: readonly TestDays[];
	readonly released: Day | null;
}

/** How far a lot has come: tests roasted, how far the last of them is, and whether one more is planned. */
export interface Reached {
	readonly sampled: boolean;
	readonly received: boolean;
	readonly roasted: number;
	readonly last: 'roasted' | 'cupped' | 'judged';
	readonly queued: boolean;
	readonly released: boolean;
}

/** Works a lot's life out backwards from the day of its last record. */
export function lifeUntil(lastDay: Day, reached: Reached, chance: Chance): LifeDays {
	const tests: TestDays[] = [];
	const released = reached.released ? onOrBefore(lastDay) : null;
	let day =
		released === null ? onOrBefore(lastDay) : onOrBefore(addDays(released, -chance.whole(0, 2)));
	if (reached.queued) tests.unshift({ planned: day, roasted: null, cupped: null, judged: null });
	for (let k = reached.roasted; k >= 1; k--) {
		const first = k === reached.roasted;
		const roasted = roastDayFor(day, first ? reached.last : 'judged', chance);
		const cupped = cuppingDay(roasted, chance);
		const done = !first || reached.last === 'judged';
		const seen = done || reached.last === 'cupped';
		const before = onOrBefore(addDays(roasted, -chance.whole(1, 3)));
		tests.unshift({
			planned: before,
			roasted,
			cupped: seen ? cupped : null,
			judged: done ? cupped : null
		});
		day = before;
	}
	const mended = plannedAfterVerdicts(tests);
	const firstPlanned = mended[0]?.planned ?? day;
	const sampled = reached.sampled
		? onOrBefore(addDays(firstPlanned, mended.length > 0 ? -chance.whole(1, 5) : 0))
		: null;
	const received = reached.received
		? onOrBefore(sampled === null ? firstPlanned : addDays(sampled, -chance.whole(1, 8)))
		: null;
	const created = onOrBefore(addDays(received ?? firstPlanned, -chance.whole(48, 110)));
	const expected =
		received === null
			? workdaysAfter(lastDay, chance.whole(8, 20))
			: onOrBefore(addDays(received, chance.whole(-9, 4)));
	return { created, expected, received, sampled, tests: mended, released };
}

/** A Monday to Thursday that leaves room for cupping and verdict by `by`. */
function roastDayFor(by: Day, last: Reached['last'], chance: Chance): Day {
	if (last === 'roasted') return onOrBefore(by, 4);
	return onOrBefore(addDays(by, -chance.whole(2, 4)), 4);
}

/** A test is planned on the day of the verdict before it. */
function plannedAfterVerdicts(tests: readonly TestDays[]): TestDays[] {
	return tests.map((test, i) => {
		const before = tests[i - 1]?.judged;
		return before === undefined || before === null ? test : { ...test, planned: before };
	});
}

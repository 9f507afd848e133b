import { seededChance } from '#lib/domain/stats/chance.ts';
import { USUAL_SEPARATIONS, changeoversFor } from '#lib/domain/plan/changeover.ts';
import {
	ROAST_SHADES,
	type BatchTraits,
	type PlanProblem,
	type Roaster,
	type TestNeed,
	type Window
} from '#lib/domain/plan/problem.ts';
import { at, production, roaster, test } from './plan-problems.ts';

/**
 * Invented weeks of a working roastery, to measure the planner on: two to four roasters in two shifts with
 * breaks, products due on three dispatch days, dearer separations for a few, chains of tests for new lots,
 * profiling staff on weekdays, an hour of overtime. Nothing is taken from a real roastery.
 */

export const WEEK_SIZES = {
	small: { roasters: 2, products: 20, tests: [5, 8], hours: 9 },
	middle: { roasters: 3, products: 30, tests: [8, 12], hours: 10 },
	large: { roasters: 4, products: 40, tests: [10, 15], hours: 11.5 }
} as const;
export type WeekSize = keyof typeof WEEK_SIZES;

/** The twenty weeks of the bench. */
export const WEEKS: readonly {
	readonly name: string;
	readonly size: WeekSize;
	readonly seed: number;
}[] = [
	...Array.from({ length: 7 }, (_, i) => ({ size: 'small' as const, seed: 101 + i })),
	...Array.from({ length: 7 }, (_, i) => ({ size: 'middle' as const, seed: 201 + i })),
	...Array.from({ length: 6 }, (_, i) => ({ size: 'large' as const, seed: 301 + i }))
].map((week) => ({ ...week, name: `${week.size} ${week.seed}` }));

/** Share of the regular minutes that batches alone take up. */
const LOAD = 0.8;
const BREAK_MIN = 30;
const OVERTIME_MIN = 60;

/** A week of a size; the same one for the same seed. */
export function workingWeek(seed: number, size: WeekSize): PlanProblem {
	const { roasters: count, products, tests, hours } = WEEK_SIZES[size];
	const next = seededChance(seed);
	const between = (low: number, high: number) => low + Math.floor(next() * (high - low + 1));
	const roasters = [
		{ maxChargeG: 60_000, minChargeG: 24_000, cycleMin: 17 },
		{ maxChargeG: 30_000, minChargeG: 10_000, cycleMin: 16 },
		{ maxChargeG: 60_000, minChargeG: 24_000, cycleMin: 18 },
		{ maxChargeG: 15_000, minChargeG: 4000, cycleMin: 15 }
	]
		.slice(0, count)
		.map((limits, i) =>
			roaster({
				id: i + 1,
				name: `Roaster ${i + 1}`,
				...limits,
				warmUpMin: between(3, 6) * 10,
				cleaningMin: between(3, 5) * 10,
				changeovers: changeoversFor(USUAL_SEPARATIONS),
				lastBatch: traits(next)
			})
		);
	const windows = roasters.flatMap(({ id }) =>
		[0, 1, 2, 3, 4].flatMap((day) => shifts(id, day, hours))
	);
	const shares = Array.from({ length: products }, () => 0.3 + next() * 1.7);
	const sum = shares.reduce((total, share) => total + share, 0);
	const room = LOAD * roasters.reduce((total, one) => total + fullG(one, windows), 0);
	return {
		fromMs: at(0, 0),
		zone: 'UTC',
		roasters,
		windows,
		production: shares.map((share, i) => ({
			...production({
				...traits(next),
				lotId: 100 + i,
				productId: 1 + i,
				greenG: Math.round((room * share) / sum / 1000) * 1000,
				dueMs: at([1, 3, 4][between(0, 2)]!, 17),
				notBeforeMs: next() < 0.1 ? at(between(0, 1), 12) : null
			}),
			...(next() < 0.15
				? { roasterIds: roasters.slice(0, between(1, count)).map(({ id }) => id) }
				: {})
		})),
		tests: testsOf(between(tests[0], tests[1]), roasters, between, next),
		locked: [],
		cuppingLagMs: 24 * 3_600_000,
		profiling: [0, 1, 2, 3, 4].map((day) => ({ startMs: at(day, 8), endMs: at(day, 16) }))
	};
}

/** A shift from 06:00 with so many hours of work, two breaks between them, and overtime after it. */
function shifts(roasterId: number, day: number, hours: number): readonly Window[] {
	const shiftStartMs = at(day, 6);
	const breaks = [at(day, 9), at(day, 12, 30)];
	const regularMs = shiftStartMs + (hours * 60 + breaks.length * BREAK_MIN) * 60_000;
	const ends = [...breaks, regularMs + OVERTIME_MIN * 60_000];
	const starts = [shiftStartMs, ...breaks.map((atMs) => atMs + BREAK_MIN * 60_000)];
	return starts.map((startMs, i) => ({
		roasterId,
		startMs,
		endMs: ends[i]!,
		shiftStartMs,
		...(i === 2 ? { overtimeFromMs: regularMs } : {})
	}));
}

function fullG(one: Roaster, windows: readonly Window[]): number {
	return windows
		.filter(({ roasterId }) => roasterId === one.id)
		.reduce((total, { startMs, endMs, overtimeFromMs = endMs }) => {
			return total + ((overtimeFromMs - startMs) / 60_000 / one.cycleMin) * one.maxChargeG;
		}, 0);
}

function traits(next: () => number): BatchTraits {
	return {
		decaf: next() < 0.1,
		certifiedOrganic: next() < 0.25,
		flavoured: next() < 0.06,
		shade: ROAST_SHADES[Math.floor(next() * 3)]!
	};
}

function testsOf(
	count: number,
	roasters: readonly Roaster[],
	between: (low: number, high: number) => number,
	next: () => number
): readonly TestNeed[] {
	const tests: TestNeed[] = [];
	while (tests.length < count) {
		const chain = Math.min(between(1, 3), count - tests.length);
		const lot = {
			...traits(next),
			flavoured: false,
			lotId: 500 + tests.length,
			dueMs: at(between(1, 4), 17)
		};
		const one = roasters[between(0, roasters.length - 1)]!;
		for (let i = 0; i < chain; i += 1)
			tests.push(
				test({
					...lot,
					testBatchId: tests.length + 1,
					roasterId: one.id,
					chargeG: one.minChargeG + 1000 * between(0, 2),
					notBeforeMs: i === 0 && next() < 0.25 ? at(between(0, 2), 13) : null,
					afterTestBatchId: i === 0 ? null : tests.length
				})
			);
	}
	return tests;
}

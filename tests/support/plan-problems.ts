import { seededChance } from '#lib/domain/stats/chance.ts';
import { dispatch } from '#lib/domain/plan/dispatch.ts';
import { USUAL_SEPARATIONS, changeoversFor } from '#lib/domain/plan/changeover.ts';
import type { WeekPlan } from '#lib/domain/plan/plan.ts';
import {
	ROAST_SHADES,
	type BatchTraits,
	type LockedSlot,
	type PlanProblem,
	type ProductionNeed,
	type Roaster,
	type TestNeed,
	type Window
} from '#lib/domain/plan/problem.ts';

/** Invented week plans to test and time the planner on. */

const MINUTE_MS = 60_000;
const HOUR_MS = 3_600_000;
const DAY_MS = 86_400_000;

/** Monday 2026-11-30, 00:00Z. */
export const MONDAY_MS = Date.UTC(2026, 10, 30);

/** An instant of the week: day 0 is Monday. */
export function at(day: number, hour: number, minute = 0): number {
	return MONDAY_MS + day * DAY_MS + hour * HOUR_MS + minute * MINUTE_MS;
}

export const plain: BatchTraits = { decaf: false, certifiedOrganic: false, shade: 'medium' };

export function roaster(over: Partial<Roaster> = {}): Roaster {
	return {
		id: 1,
		name: 'Roaster A',
		minChargeG: 20_000,
		maxChargeG: 60_000,
		warmUpMin: 30,
		cycleMin: 15,
		cleaningMin: 45,
		changeovers: changeoversFor(USUAL_SEPARATIONS),
		lastBatch: null,
		...over
	};
}

export function production(over: Partial<ProductionNeed> = {}): ProductionNeed {
	return {
		...plain,
		lotId: 1,
		productId: 1,
		greenG: 60_000,
		dueMs: at(4, 17),
		notBeforeMs: null,
		...over
	};
}

export function test(over: Partial<TestNeed> = {}): TestNeed {
	return {
		...plain,
		testBatchId: 1,
		lotId: 9,
		roasterId: 1,
		chargeG: 20_000,
		dueMs: at(4, 17),
		notBeforeMs: null,
		afterTestBatchId: null,
		...over
	};
}

/** A problem with one roaster and one shift a day, Monday to Friday, 08:00 to 16:00. */
export function problem(over: Partial<PlanProblem> = {}): PlanProblem {
	return {
		fromMs: MONDAY_MS,
		zone: 'UTC',
		roasters: [roaster()],
		windows: [0, 1, 2, 3, 4].map((day) => window(day, 8, 16)),
		production: [],
		tests: [],
		locked: [],
		cuppingLagMs: DAY_MS,
		...over
	};
}

export function window(day: number, fromHour: number, toHour: number, roasterId = 1): Window {
	return { roasterId, startMs: at(day, fromHour), endMs: at(day, toHour) };
}

/** The plan of a problem that is fit to plan. */
export function planOf(given: PlanProblem): WeekPlan {
	const outcome = dispatch(given);
	if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
	return outcome.value;
}

/** A slot of a plan as a person would lock it. */
export function lock({
	setup: _,
	why: __,
	locked: ___,
	...facts
}: WeekPlan['slots'][number]): LockedSlot {
	return facts;
}

export interface Size {
	readonly roasters: number;
	readonly products: number;
	readonly tests: number;
	/** Green need of the week over what the shifts could hold at full charge without setups. */
	readonly load: number;
}

/** A random week: shifts, needs of several lots a product, chains of tests, a share of decaf and organic. */
export function randomProblem(seed: number, size: Size): PlanProblem {
	const next = seededChance(seed);
	const between = (low: number, high: number) => low + Math.floor(next() * (high - low + 1));
	const pick = <T>(items: readonly T[]): T => items[between(0, items.length - 1)]!;
	const traits = (): BatchTraits => ({
		decaf: next() < 0.15,
		certifiedOrganic: next() < 0.25,
		shade: pick(ROAST_SHADES)
	});
	const roasters = Array.from({ length: size.roasters }, (_, i) => {
		const maxChargeG = pick([60_000, 30_000, 15_000]);
		return roaster({
			id: i + 1,
			name: `Roaster ${i + 1}`,
			maxChargeG,
			minChargeG: Math.round(maxChargeG * (0.2 + 0.5 * next())),
			warmUpMin: between(2, 6) * 10,
			cycleMin: between(12, 18),
			cleaningMin: between(2, 6) * 10,
			lastBatch: next() < 0.5 ? null : traits()
		});
	});
	const windows = roasters.flatMap(({ id }) =>
		[0, 1, 2, 3, 4].flatMap((day) => {
			if (next() < 0.1) return [];
			const [start, noon, end] = [between(6, 9), 12, between(14, 20)];
			return next() < 0.3
				? [window(day, start, noon, id), window(day, noon + 1, end, id)]
				: [window(day, start, end, id)];
		})
	);
	const roomG = windows.reduce((total, { roasterId, startMs, endMs }) => {
		const { cycleMin, maxChargeG } = roasters[roasterId - 1]!;
		return total + Math.floor((endMs - startMs) / MINUTE_MS / cycleMin) * maxChargeG;
	}, 0);
	const needs = Array.from({ length: size.products }, (_, i) =>
		production({
			...traits(),
			lotId: 100 + i,
			productId: 1 + Math.floor(i / 2),
			greenG:
				next() < 0.08
					? between(500, 5000)
					: Math.round((size.load * roomG * (0.1 + 1.8 * next())) / size.products),
			dueMs: pick([at(2, 17), at(4, 12), at(4, 17)]),
			notBeforeMs: next() < 0.1 ? at(between(0, 3), 12) : null
		})
	);
	return {
		fromMs: next() < 0.5 ? MONDAY_MS : at(0, 11),
		zone: 'UTC',
		roasters,
		windows,
		production: needs,
		tests: randomTests(size.tests, roasters, between, traits),
		locked: [],
		cuppingLagMs: between(2, 30) * HOUR_MS
	};
}

function randomTests(
	count: number,
	roasters: readonly Roaster[],
	between: (low: number, high: number) => number,
	traits: () => BatchTraits
): readonly TestNeed[] {
	const tests: TestNeed[] = [];
	while (tests.length < count) {
		const chain = Math.min(between(1, 3), count - tests.length);
		const lot = { lotId: 500 + tests.length, ...traits(), dueMs: at(between(1, 4), 17) };
		for (let i = 0; i < chain; i += 1) {
			const { id, minChargeG, maxChargeG } = roasters[between(0, roasters.length - 1)]!;
			tests.push({
				...lot,
				testBatchId: tests.length + 1,
				roasterId: id,
				chargeG: between(Math.round(minChargeG * 0.95), Math.round(maxChargeG * 1.02)),
				notBeforeMs: i === 0 && between(0, 3) === 0 ? at(between(0, 2), 13) : null,
				afterTestBatchId: i === 0 ? null : tests.length
			});
		}
	}
	return tests;
}

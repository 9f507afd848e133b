import { describe, expect, it } from 'vitest';
import { lock, planOf, randomProblem, type Size } from '#support/plan-problems.ts';
import { seededChance } from '../stats/chance.ts';
import { checkPlan } from './check.ts';
import type { PlanProblem } from './problem.ts';
import type { Change, Unplaced, WeekPlan } from './plan.ts';

const SIZES: readonly Size[] = [
	{ roasters: 1, products: 4, tests: 2, load: 0.5 },
	{ roasters: 2, products: 12, tests: 6, load: 0.7 },
	{ roasters: 3, products: 20, tests: 12, load: 0.9 },
	{ roasters: 4, products: 30, tests: 15, load: 1.3 }
];

const SEEDS = Array.from({ length: 24 }, (_, i) => i + 1);

const problemFor = (seed: number) => randomProblem(seed, SIZES[seed % SIZES.length]!);

describe('plans by rule of 24 random weeks', () => {
	it.each(SEEDS)('keep every rule, seed %i', (seed) => {
		const problem = problemFor(seed);
		const plan = planOf(problem);
		expect(checkPlan(problem, plan)).toEqual([]);
		expect(plan.slots.length).toBeGreaterThan(0);
	});

	it('break no rule that the locks alone keep, when the week is under way', () => {
		let whole = 0;
		for (const seed of SEEDS) {
			const problem = underWay(seed);
			const plan = planOf(problem);
			const found = checkPlan(problem, plan);
			if (found.length === 0) whole += 1;
			const alone = { ...problem, production: [], tests: [] };
			const byLocks = checkPlan(alone, planOf(alone)).map(({ path }) => path);
			expect(
				found.filter(({ path }) => !byLocks.includes(path)),
				`seed ${seed}`
			).toEqual([]);
			expect(plan.slots.filter((slot) => slot.locked)).toHaveLength(problem.locked.length);
		}
		expect(whole).toBeGreaterThan(SEEDS.length * 0.85);
	});

	it('are the same when made twice', () => {
		expect(planOf(problemFor(7))).toEqual(planOf(problemFor(7)));
	});

	it('name for an unplaced need a change after which it does fit, all else locked', () => {
		const tried = new Map<string, number>();
		for (const seed of SEEDS.slice(0, 12)) {
			const problem = problemFor(seed);
			const plan = planOf(problem);
			for (const one of plan.unplaced) {
				const change = one.wouldFit!;
				if (change.kind === 'place first') continue;
				const changed = withChange(problem, plan, one, change);
				const after = planOf(changed);
				expect(after.unplaced, `seed ${seed}, ${JSON.stringify(one)}`).toEqual([]);
				tried.set(change.kind, (tried.get(change.kind) ?? 0) + 1);
			}
		}
		expect([...tried.keys()].sort()).toEqual([
			'add window',
			'change charge',
			'change need',
			'extend window'
		]);
	});
});

/** What has started is locked, and some of what is to come. */
function underWay(seed: number): PlanProblem {
	const problem = problemFor(seed);
	const next = seededChance(seed + 1000);
	const { slots } = planOf(problem);
	const fromMs = slots[Math.floor(slots.length / 3)]!.startMs;
	const locked = slots.filter((slot) => slot.startMs < fromMs || next() < 0.3).map(lock);
	return { ...problem, fromMs, locked };
}

/** The plan's slots locked, the one unplaced need alone still to place, and the change made. */
function withChange(
	problem: PlanProblem,
	plan: WeekPlan,
	one: Unplaced,
	change: Change
): PlanProblem {
	const base = {
		...problem,
		locked: plan.slots.map(lock),
		production: problem.production
			.filter((need) => one.kind === 'production' && need.lotId === one.lotId)
			.map((need) => ({ ...need, greenG: one.greenG + placedG(plan, one) })),
		tests: problem.tests.filter(({ testBatchId }) => testBatchId === one.testBatchId)
	};
	if (change.kind === 'extend window') {
		const windows = base.windows.map((window) =>
			window.roasterId === change.roasterId && window.endMs === change.endMs
				? { ...window, endMs: window.endMs + change.byMin * 60_000 }
				: window
		);
		return { ...base, windows };
	}
	if (change.kind === 'add window') {
		const { roasterId, fromMs, minutes } = change;
		const added = { roasterId, startMs: fromMs, endMs: fromMs + minutes * 60_000 };
		return { ...base, windows: [...base.windows, added] };
	}
	// A change of mass is about limits, not room: it is tried on empty roasters with room to spare.
	const empty = {
		...base,
		locked: [],
		windows: problem.roasters.map(({ id }) => wide(problem, id))
	};
	if (change.kind === 'change need') {
		const production = problem.production
			.filter((need) => need.lotId === one.lotId)
			.map((need) => ({ ...need, greenG: need.greenG + change.byG }));
		return { ...empty, production, tests: [] };
	}
	if (change.kind === 'change charge') {
		const tests = empty.tests.map((test) => ({
			...test,
			chargeG: change.toG,
			afterTestBatchId: null
		}));
		return { ...empty, tests, production: [] };
	}
	throw new Error(`nothing to try for ${change.kind}`);
}

function placedG(plan: WeekPlan, one: Unplaced): number {
	return plan.slots
		.filter((slot) => slot.kind === 'production' && slot.lotId === one.lotId)
		.reduce((total, { chargeG }) => total + chargeG, 0);
}

function wide(problem: PlanProblem, roasterId: number) {
	return { roasterId, startMs: problem.fromMs, endMs: problem.fromMs + 60 * 86_400_000 };
}

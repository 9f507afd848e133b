import { describe, expect, it } from 'vitest';
import { lock, planOf } from '#support/plan-problems.ts';
import { workingWeek } from '#support/plan-weeks.ts';
import { checkPlan } from './check.ts';
import type { Change, Unplaced, WeekPlan } from './plan.ts';
import { needKey, type PlanProblem, type ProductionNeed } from './problem.ts';

/**
 * The change that a need without a slot names is made, all else left where it is: then the need has its slots,
 * and the plan keeps every rule. On weeks with breaks, overtime, hours of profiling, and closed days.
 */

/** A week with more to roast than it has room for, and a day on which a roaster is closed. */
function fullWeek(seed: number): PlanProblem {
	const week = workingWeek(seed, 'small');
	const more = 1 + (seed % 4) / 5;
	const closed = week.windows.filter(
		({ roasterId }, i) => roasterId === 1 + (seed % 2) && i % 15 < 3
	);
	return {
		...week,
		windows: week.windows.filter((window) => !closed.includes(window)),
		production: week.production.map((need) => ({
			...need,
			greenG: Math.round((need.greenG * more) / 1000) * 1000
		}))
	};
}

/** The plan's slots fixed, the one need alone still to place, and the change made. */
function changed(problem: PlanProblem, plan: WeekPlan, one: Unplaced, change: Change): PlanProblem {
	const isOwn = (need: ProductionNeed) =>
		one.kind === 'production' &&
		needKey(need) === needKey({ ...one, lotId: one.lotId, dueMs: one.dueMs });
	const base: PlanProblem = {
		...problem,
		locked: plan.slots.map(lock),
		production: problem.production.filter(isOwn),
		tests: problem.tests.filter(({ testBatchId }) => testBatchId === one.testBatchId)
	};
	switch (change.kind) {
		case 'extend window':
			return {
				...base,
				windows: base.windows.map((window) =>
					window.roasterId === change.roasterId && window.endMs === change.endMs
						? { ...window, endMs: window.endMs + change.byMin * 60_000 }
						: window
				)
			};
		case 'add window': {
			const { roasterId, fromMs, minutes } = change;
			const added = { roasterId, startMs: fromMs, endMs: fromMs + minutes * 60_000 };
			return { ...base, windows: [...base.windows, added] };
		}
		default:
			throw new Error(`not a matter of room: ${change.kind}`);
	}
}

let tried = 0;

describe('the change that would make a need fit', () => {
	it.each([1401, 1402, 1403, 1404, 1405, 1406])('does, in a full week, seed %i', (seed) => {
		const problem = fullWeek(seed);
		const plan = planOf(problem);
		const named = plan.unplaced.flatMap((one) =>
			one.wouldFit ? [[one, one.wouldFit] as const] : []
		);
		for (const [one, change] of named) {
			const after = changed(problem, plan, one, change);
			const then = planOf(after);
			expect(checkPlan(after, then), JSON.stringify(one)).toEqual([]);
			expect(then.unplaced, JSON.stringify(one)).toEqual([]);
		}
		tried += named.length;
	});
	it('was tried often', () => {
		expect(tried).toBeGreaterThan(10);
	});
});

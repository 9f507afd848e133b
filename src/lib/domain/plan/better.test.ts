import { describe, expect, it } from 'vitest';
import {
	at,
	lock,
	problem,
	production,
	randomProblem,
	roaster,
	test,
	window
} from '#support/plan-problems.ts';
import { better, type Bettering } from './better.ts';
import { checkPlan } from './check.ts';
import { USUAL_WEIGHTS, costOf } from './objective.ts';
import type { PlanProblem } from './problem.ts';

function bettering(given: PlanProblem, seed = 1): Bettering {
	const outcome = better(given, USUAL_WEIGHTS, seed);
	if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
	return outcome.value;
}

describe('the plan bettered by search', () => {
	it('keeps every rule, costs what it says, and never more than the plan by rule', () => {
		for (const seed of [1, 2, 3, 4, 5]) {
			const size = { roasters: 1 + (seed % 3), products: 8, tests: 5, load: 0.5 };
			const given = randomProblem(seed, size);
			const run = bettering(given, seed);
			run.run(2000);
			const plan = run.plan();
			const { total } = costOf(given, plan, USUAL_WEIGHTS);
			expect(checkPlan(given, plan), `seed ${seed}`).toEqual([]);
			expect(total, `seed ${seed}`).toBeLessThanOrEqual(run.startCost);
			expect(Math.abs(total - run.cost), `seed ${seed}`).toBeLessThan(0.5);
		}
	});

	it('1: gives the same plan for the same seed and steps, in however many pieces', () => {
		const given = randomProblem(3, { roasters: 2, products: 8, tests: 4, load: 0.5 });
		const [one, other] = [bettering(given, 7), bettering(given, 7)];
		one.run(3000);
		for (let i = 0; i < 30; i += 1) other.run(100);
		expect(one.plan()).toEqual(other.plan());
	});

	it('leaves locked slots where they are', () => {
		const given = problem({
			production: [production({ greenG: 300_000 }), production({ lotId: 2, decaf: true })]
		});
		const slots = bettering(given).plan().slots;
		const locked = [lock({ ...slots[2]!, startMs: at(1, 10), endMs: at(1, 10, 15) })];
		const run = bettering({ ...given, locked });
		run.run(2000);
		const plan = run.plan();
		expect(checkPlan({ ...given, locked }, plan)).toEqual([]);
		expect(plan.slots.filter((slot) => slot.locked)).toHaveLength(1);
	});

	it('works overtime only where it costs less than being late', () => {
		const windows = [
			{ ...window(0, 8, 11), overtimeFromMs: at(0, 9) },
			{ ...window(1, 8, 11), overtimeFromMs: at(1, 9) }
		];
		const tomorrow = problem({ windows, production: [production({ greenG: 240_000 })] });
		const run = bettering(tomorrow);
		run.run(2000);
		expect(costOf(tomorrow, run.plan(), USUAL_WEIGHTS).amounts.overtimeMin).toBe(0);
		const today = { ...tomorrow, production: [production({ greenG: 240_000, dueMs: at(0, 12) })] };
		const hasty = bettering(today);
		hasty.run(2000);
		expect(costOf(today, hasty.plan(), USUAL_WEIGHTS).amounts).toMatchObject({
			overtimeMin: 30,
			lateKg: 0
		});
	});

	it('places tests while somebody for profiling is there', () => {
		const profiling = [{ startMs: at(1, 10), endMs: at(1, 12) }];
		const given = problem({ profiling, tests: [test()], roasters: [roaster()] });
		const run = bettering(given);
		run.run(200);
		expect(run.plan().slots.map(({ startMs }) => startMs)).toEqual([at(1, 10)]);
	});

	it('never offers longer hours where it is somebody for profiling who is missing', () => {
		const profiling = [{ startMs: at(1, 18), endMs: at(1, 20) }];
		const given = problem({ profiling, tests: [test()], windows: [window(1, 8, 17)] });
		const { unplaced } = bettering(given).plan();
		// Until 18:15, when a batch from 18:00 on is over.
		expect(unplaced[0]!.wouldFit).toMatchObject({ kind: 'extend window', byMin: 75 });
		const morning = [{ startMs: at(1, 6), endMs: at(1, 7) }];
		const never = bettering({ ...given, profiling: morning }).plan();
		expect(never.unplaced[0]!.wouldFit).toBe(null);
	});
});

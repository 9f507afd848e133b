import { describe, expect, it } from 'vitest';
import { problem, production, randomProblem, roaster, test } from '#support/plan-problems.ts';
import { better } from './better.ts';
import { leastCost } from './bound.ts';
import { USUAL_WEIGHTS, costOf } from './objective.ts';

describe('the least that a week can cost', () => {
	it('is that of the batches alone, worked by hand', () => {
		const small = roaster({ id: 2, minChargeG: 3000, maxChargeG: 15_000, cycleMin: 12 });
		const given = problem({
			roasters: [roaster(), small],
			production: [production({ greenG: 70_000 })],
			tests: [test()]
		});
		// 60 and 10 kg: 15 + 12 min; the test 15.
		expect(leastCost(given, USUAL_WEIGHTS).least).toBe(42);
	});

	it('leaves out what costs less left out', () => {
		const given = problem({ production: [production({ greenG: 100 })] });
		expect(leastCost(given, USUAL_WEIGHTS).least).toBe(4);
	});

	it('counts what is locked as it is, and never twice', () => {
		const given = problem({ production: [production({ greenG: 60_000 })] });
		const outcome = better(given, USUAL_WEIGHTS, 1);
		if (!outcome.ok) throw new Error('unfit');
		const locked = outcome.value.plan().slots.map((slot) => ({ ...slot }));
		expect(leastCost({ ...given, locked }, USUAL_WEIGHTS).least).toBe(15);
	});

	it('is below every plan of random weeks, whatever the weights', () => {
		for (const seed of [1, 2, 3, 4, 5, 6]) {
			const given = randomProblem(seed, { roasters: 2, products: 8, tests: 4, load: 0.6 });
			const weights = { ...USUAL_WEIGHTS, unplacedKg: seed };
			const outcome = better(given, weights, seed);
			if (!outcome.ok) throw new Error('unfit');
			outcome.value.run(500);
			const { total } = costOf(given, outcome.value.plan(), weights);
			expect(leastCost(given, weights).least, `seed ${seed}`).toBeLessThanOrEqual(total);
		}
	});
});

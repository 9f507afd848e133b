import { describe, expect, it } from 'vitest';
import { better } from '#lib/domain/plan/better.ts';
import { relaxedBound } from '#lib/domain/plan/bound.ts';
import { USUAL_WEIGHTS, costOf, isLeast } from '#lib/domain/plan/objective.ts';
import type { PlanProblem } from '#lib/domain/plan/problem.ts';
import { relaxedWeek } from '#lib/domain/plan/relaxed.ts';
import { at, lock, problem, production, randomProblem, test } from '#support/plan-problems.ts';
import { provenLeast } from './searchLeast.ts';

/** Small weeks have no room for the clock to matter: they are solved to the end. */
async function leastOf(given: PlanProblem): Promise<number> {
	const least = await provenLeast(relaxedWeek(given, USUAL_WEIGHTS), 1e6);
	if (least === null) throw new Error('not solved');
	return least;
}

function found(given: PlanProblem, steps = 20_000) {
	const outcome = better(given, USUAL_WEIGHTS, 1);
	if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
	outcome.value.run(steps);
	const plan = outcome.value.plan();
	return { plan, cost: costOf(given, plan, USUAL_WEIGHTS).total };
}

const smallWeek = (seed: number) =>
	randomProblem(seed, { roasters: 1, products: 3, tests: 2, load: 0.2 });

describe('the relaxed week, solved to its optimum by HiGHS', () => {
	it('costs what the best plan does, worked by hand', async () => {
		const given = problem({
			production: [production(), production({ lotId: 2, decaf: true })]
		});
		// Two batches of 15 min, a warm-up of 30, a cleaning of 45 that counts twice, and 5 for a changeover.
		expect(await leastOf(given)).toBeCloseTo(155, 2);
	});

	it('counts overtime and lateness, worked by hand', async () => {
		const windows = [
			{ roasterId: 1, startMs: at(0, 8), endMs: at(0, 10), overtimeFromMs: at(0, 9) },
			{ roasterId: 1, startMs: at(1, 8), endMs: at(1, 10) }
		];
		const given = problem({
			windows,
			production: [production({ greenG: 240_000, dueMs: at(0, 12) })]
		});
		// Four batches and one warm-up, 90 min of which 30 are overtime at 2 more each.
		expect(await leastOf(given)).toBeCloseTo(150, 2);
		const noOvertime = { ...given, windows: [{ ...windows[0]!, endMs: at(0, 9) }, windows[1]!] };
		// Two batches a day; the second day's 120 kg count as late as the first end that is possible there, 08:15.
		const lateDays = (20 + 15 / 60) / 24;
		expect(await leastOf(noOvertime)).toBeCloseTo(60 + 60 + 120 + 4 * 120 * lateDays, 2);
	});

	it('proves that the search has the best plan of small weeks', async () => {
		for (const seed of [9, 11, 12]) {
			const given = smallWeek(seed);
			const bound = relaxedBound(await leastOf(given));
			const { cost } = found(given);
			expect(isLeast(cost, bound), `seed ${seed}: ${cost} against ${bound.least}`).toBe(true);
			expect(bound.least, `seed ${seed}`).toBeLessThanOrEqual(cost);
		}
	});

	it('is never above a plan, with slots that stay, tests that wait, and where it proves nothing', async () => {
		for (const seed of [2, 12]) {
			const given = smallWeek(seed);
			const { plan, cost } = found(given);
			expect(await leastOf(given), `seed ${seed}`).toBeLessThanOrEqual(cost);
			const locked = plan.slots.filter((_, i) => i % 3 === 1).map(lock);
			const fixed = { ...given, locked };
			expect(await leastOf(fixed), `seed ${seed}`).toBeLessThanOrEqual(found(fixed).cost);
		}
	});

	it('counts a test that no slot can be found for', async () => {
		const given = problem({ production: [production()], tests: [test({ chargeG: 100 })] });
		expect(await leastOf(given)).toBeCloseTo(15 + 30 + USUAL_WEIGHTS.unplacedTest, 2);
	});
});

import { better } from '#lib/domain/plan/better.ts';
import { checkPlan } from '#lib/domain/plan/check.ts';
import { dispatch } from '#lib/domain/plan/dispatch.ts';
import { USUAL_WEIGHTS, costOf } from '#lib/domain/plan/objective.ts';
import type { PlanProblem } from '#lib/domain/plan/problem.ts';
import { WEEKS, workingWeek } from '#support/plan-weeks.ts';
import { loadBestPlans } from './bestPlans.ts';
import { median, type Benchmark, type Figure } from './harness.ts';

/** PLAN_WEEKS=4 takes every fifth week only; PLAN_SECONDS overrides 10 and 30. */
const COUNT = Number(process.env['PLAN_WEEKS'] ?? WEEKS.length);
const SECONDS = (process.env['PLAN_SECONDS'] ?? '10,30').split(',').map(Number);
const FIRST_PLAN_GOAL_MS = 50;
const GOALS = [0.02, 0.01];
/** Steps between looks at the clock, which cost as much as hundreds of steps. */
const CHUNK = 5000;
const ROUNDS = 7;

/**
 * Twenty weeks: how long the plan by rule takes, and how far above the best known cost the search is after
 * ten and thirty seconds. Seconds are of this process's processor time, so that a busy machine tells the
 * same; the search itself goes by steps.
 */
export const benchmark: Benchmark = {
	name: 'week plan',
	unit: 'median gap, %',
	goal: `gap <= ${GOALS[0]! * 100} % after ${SECONDS[0]} s and <= ${GOALS[1]! * 100} % after ${SECONDS[1]} s; first plan of the largest < ${FIRST_PLAN_GOAL_MS} ms`,
	slow: true,
	run: () => Promise.resolve(measure())
};

function measure(): Figure {
	const known = loadBestPlans();
	const every = Math.max(1, Math.floor(WEEKS.length / COUNT));
	const weeks = WEEKS.filter(({ name }, i) => i % every === 0 && known[name]).slice(0, COUNT);
	const firstMs = median(Array.from({ length: ROUNDS }, firstPlanMs));
	const gaps: number[][] = SECONDS.map(() => []);
	const byRule: number[] = [];
	for (const { name, seed, size } of weeks) {
		const problem = workingWeek(seed, size);
		const best = known[name]!.cost;
		const costs = costsAfter(problem, SECONDS);
		costs.found.forEach((cost, i) => gaps[i]!.push(cost / best - 1));
		byRule.push(costs.byRule / best - 1);
	}
	const medians = gaps.map(median);
	const percents = medians.map((gap, i) => `${(gap * 100).toFixed(2)} % after ${SECONDS[i]} s`);
	return {
		value: medians.at(-1)! * 100,
		reference: median(byRule) * 100,
		ratio: medians.at(-1)! / median(byRule),
		holds: medians.every((gap, i) => gap <= GOALS[i]!) && firstMs < FIRST_PLAN_GOAL_MS,
		note: `median gap to the best known: ${percents.join(', ')}; by rule alone ${(median(byRule) * 100).toFixed(1)} % (the reference); ${weeks.length} of ${WEEKS.length} weeks; first plan of the largest week ${firstMs.toFixed(0)} ms; processor time`
	};
}

function firstPlanMs(): number {
	const { seed, size } = WEEKS.at(-1)!;
	const problem = workingWeek(seed, size);
	const from = process.cpuUsage();
	dispatch(problem);
	return spentMs(from);
}

function spentMs(from: NodeJS.CpuUsage): number {
	const { user, system } = process.cpuUsage(from);
	return (user + system) / 1000;
}

/** Cost of the checked plan after each number of seconds. */
function costsAfter(
	problem: PlanProblem,
	seconds: readonly number[]
): { readonly byRule: number; readonly found: readonly number[] } {
	const outcome = better(problem, USUAL_WEIGHTS, 1);
	if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
	const run = outcome.value;
	const from = process.cpuUsage();
	const found = seconds.map((limit) => {
		while (spentMs(from) < limit * 1000) run.run(CHUNK);
		const plan = run.plan();
		const broken = checkPlan(problem, plan);
		if (broken.length > 0) throw new Error(JSON.stringify(broken[0]));
		return costOf(problem, plan, USUAL_WEIGHTS).total;
	});
	return { byRule: run.startCost, found };
}

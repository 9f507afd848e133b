import type { PlanBound, PlanWeights } from './objective.ts';
import { lockedByNeed } from './order.ts';
import { eligible, needKey, type PlanProblem, type Roaster } from './problem.ts';

/**
 * A cost that no plan of a problem goes below: that of a relaxed week without shifts, due moments, setups
 * and neighbours, in which each need is roasted in the cheapest whole number of batches or left out, and
 * each test is roasted or left out. Every plan of the week is one of the relaxed week, at no more cost
 * there, and the relaxed optimum is found exactly, need by need: so the bound is valid. It says nothing of
 * what due moments and setups make unavoidable, so a plan may be far above it and still be the best.
 */
export function leastCost(problem: PlanProblem, weights: PlanWeights): PlanBound {
	const held = lockedByNeed(problem);
	const fixed = new Set(problem.locked.map(({ testBatchId }) => testBatchId));
	const production = problem.production.reduce((sum, need) => {
		const leftG = need.greenG - (held.get(needKey(need)) ?? 0);
		return sum + cheapestG(leftG, eligible(need, problem.roasters), weights);
	}, 0);
	const tests = problem.tests.reduce((sum, test) => {
		if (fixed.has(test.testBatchId)) return sum;
		const { cycleMin } = problem.roasters.find(({ id }) => id === test.roasterId)!;
		return sum + Math.min(cycleMin * weights.minuteInUse, weights.unplacedTest);
	}, 0);
	const locked = problem.locked
		.filter(({ startMs }) => startMs >= problem.fromMs)
		.reduce(
			(sum, { startMs, endMs }) => sum + ((endMs - startMs) / 60_000) * weights.minuteInUse,
			0
		);
	return {
		least: production + tests + locked,
		because: 'for the batches alone, without setups, shifts and due dates'
	};
}

/** The least cost of the relaxed week (relaxed.ts), solved to its optimum, as a bound of the week. */
export function relaxedBound(least: number): PlanBound {
	return { least, because: 'with the order between two breaks left free' };
}

/** The least that roasting a mass in whole batches, or leaving some of it out, costs. */
function cheapestG(leftG: number, roasters: readonly Roaster[], weights: PlanWeights): number {
	if (leftG <= 0) return 0;
	const [first, ...others] = roasters;
	if (!first) return (leftG / 1000) * weights.unplacedKg;
	const most = Math.ceil(leftG / first.maxChargeG);
	let least = Infinity;
	for (let count = 0; count <= most; count += 1) {
		const own = count * first.cycleMin * weights.minuteInUse;
		if (own >= least) break;
		least = Math.min(least, own + cheapestG(leftG - count * first.maxChargeG, others, weights));
	}
	return least;
}

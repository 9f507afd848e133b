import type { InstantMs } from '../quantity/time.ts';
import { changeoverBetween, isFlavoured } from './changeover.ts';
import {
	ROAST_SHADES,
	eligible,
	needKey,
	type BatchTraits,
	type PlanProblem,
	type ProductionNeed,
	type TestNeed
} from './problem.ts';
import { MINUTE_MS, earliestFit, traitsLeftAt, type Timeline } from './timeline.ts';

/** In which order a plan's needs ask for room. */

export type Work =
	| {
			readonly kind: 'production';
			readonly need: ProductionNeed;
			/** Green grams that no locked slot holds yet. */
			readonly leftG: number;
			readonly dueMs: InstantMs;
	  }
	| {
			readonly kind: 'test';
			readonly need: TestNeed;
			/** Early enough for the tests that wait for it. */
			readonly dueMs: InstantMs;
	  };

/** What is still to be placed, in groups of equal due moments, earliest first. */
export function orderOf(problem: PlanProblem): readonly (readonly Work[])[] {
	const work = [...productionWork(problem), ...testWork(problem)].sort((a, b) => a.dueMs - b.dueMs);
	const groups = new Map<InstantMs, Work[]>();
	for (const one of work) groups.set(one.dueMs, [...(groups.get(one.dueMs) ?? []), one]);
	return [...groups.values()];
}

/** Green grams that locked slots already hold, by need. */
export function lockedByNeed(problem: PlanProblem): ReadonlyMap<string, number> {
	const heldG = new Map<string, number>();
	for (const slot of problem.locked) {
		if (slot.kind !== 'production') continue;
		heldG.set(needKey(slot), (heldG.get(needKey(slot)) ?? 0) + slot.chargeG);
	}
	return heldG;
}

function productionWork(problem: PlanProblem): readonly Work[] {
	const heldG = lockedByNeed(problem);
	return problem.production
		.map((need) => ({
			kind: 'production' as const,
			need,
			leftG: need.greenG - (heldG.get(needKey(need)) ?? 0),
			dueMs: need.dueMs
		}))
		.filter(({ leftG }) => leftG > 0);
}

function testWork(problem: PlanProblem): readonly Work[] {
	const locked = new Map(problem.locked.map((slot) => [slot.testBatchId, slot]));
	const cycleMs = new Map(problem.roasters.map(({ id, cycleMin }) => [id, cycleMin * MINUTE_MS]));
	const dueFor = (test: TestNeed): InstantMs => {
		const followers = problem.tests.filter((other) => other.afterTestBatchId === test.testBatchId);
		const startsMs = followers.map(
			(next) => locked.get(next.testBatchId)?.startMs ?? dueFor(next) - cycleMs.get(next.roasterId)!
		);
		return Math.min(test.dueMs, ...startsMs.map((startMs) => startMs - problem.cuppingLagMs));
	};
	return problem.tests
		.filter((test) => !locked.has(test.testBatchId))
		.map((need) => ({ kind: 'test', need, dueMs: dueFor(need) }));
}

/**
 * Which of a group of equal due moments comes next: least cleaning from how the roasters stand, tests
 * before production, certified before uncertified before decaf before flavoured, light before dark, then
 * by number.
 */
export function nextInOrder(
	group: readonly Work[],
	timelines: ReadonlyMap<number, Timeline>
): Work {
	const cleaningMin = new Map<string, number>();
	const roasters = [...timelines.values()].map(({ roaster }) => roaster);
	const keysOf = (work: Work): readonly number[] => {
		const ids =
			work.kind === 'test'
				? [work.need.roasterId]
				: eligible(work.need, roasters).map(({ id }) => id);
		const key = `${ids.join(' ')}/${traitsRank(work.need).join('/')}`;
		if (!cleaningMin.has(key)) {
			const own = ids.map((id) => timelines.get(id)!);
			const minutes = own.map((timeline) => cleaningFor(timeline, work.need));
			cleaningMin.set(key, Math.min(...minutes));
		}
		return [
			cleaningMin.get(key)!,
			work.kind === 'test' ? 0 : 1,
			...traitsRank(work.need),
			work.need.lotId,
			work.kind === 'test' ? work.need.testBatchId : work.need.productId
		];
	};
	const ranked = group.map((work) => ({ work, keys: keysOf(work) }));
	return ranked.reduce((best, one) => (comesBefore(one.keys, best.keys) ? one : best)).work;
}

function cleaningFor(timeline: Timeline, traits: BatchTraits): number {
	const fit = earliestFit(timeline, {
		traits,
		notBeforeMs: timeline.fromMs,
		within: null
	});
	if (fit === null) return timeline.roaster.cleaningMin;
	const left = traitsLeftAt(timeline, fit.startMs);
	const changeover = changeoverBetween(timeline.roaster, left, traits);
	return changeover?.kind === 'cleaning' ? changeover.minutes : 0;
}

function traitsRank(traits: BatchTraits): readonly number[] {
	return [
		isFlavoured(traits) ? 1 : 0,
		traits.decaf ? 1 : 0,
		traits.certifiedOrganic ? 0 : 1,
		ROAST_SHADES.indexOf(traits.shade)
	];
}

function comesBefore(a: readonly number[], b: readonly number[]): boolean {
	const at = a.findIndex((value, i) => value !== b[i]);
	return at >= 0 && a[at]! < b[at]!;
}

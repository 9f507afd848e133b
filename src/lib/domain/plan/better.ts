import { good, type Outcome } from '../quantity/problem.ts';
import { splitFor, splitsOf, chargeOf, type Counts } from './batches.ts';
import { compile, solutionOf, type Compiled } from './compile.ts';
import { boardOf, place, placed, type Board } from './decode.ts';
import { dispatch } from './dispatch.ts';
import type { Solution } from './model.ts';
import { costOf, type PlanWeights } from './objective.ts';
import type { WeekPlan } from './plan.ts';
import {
	eligible,
	type PlanProblem,
	type ProductionNeed,
	type SlotFacts,
	type TestNeed
} from './problem.ts';
import { finishPlan } from './reasons.ts';
import { searchFrom } from './search.ts';
import { timelineOf, type Placed } from './timeline.ts';
import type { Pending } from './unplaced.ts';

/**
 * The plan bettered step by step: from the plan by rule, or from a given one, by the search. The same
 * problem, weights, start, seed and steps give the same plan.
 */
export interface Bettering {
	/** Cost of the start, roaster minutes. */
	readonly startCost: number;
	/** Cost of the best so far as the search counts it; the plan costs that or a little less. */
	readonly cost: number;
	readonly steps: number;
	run(steps: number): void;
	/** The best plan so far: never dearer than the start. */
	plan(): WeekPlan;
}

/** Fails with everything that makes the problem unfit to plan. */
export function better(
	problem: PlanProblem,
	weights: PlanWeights,
	seed: number,
	from?: WeekPlan
): Outcome<Bettering> {
	const ruled = dispatch(problem, weights);
	if (!ruled.ok) return ruled;
	const start = from ?? ruled.value;
	const startCost = costOf(problem, start, weights).total;
	const compiled = compile(problem, weights);
	const search = searchFrom(
		compiled.model,
		withEveryTest(compiled, solutionOf(compiled, problem, start)),
		seed
	);
	return good({
		startCost,
		get cost() {
			return Math.min(startCost, search.cost + hopelessCost(compiled, weights));
		},
		get steps() {
			return search.steps;
		},
		run: (steps: number) => search.run(steps),
		plan: () => {
			const found = planFrom(problem, compiled, search.best());
			return costOf(problem, found, weights).total < startCost ? found : start;
		}
	});
}

function hopelessCost({ hopeless }: Compiled, weights: PlanWeights): number {
	return hopeless.length * weights.unplacedTest;
}

/** A solution in which the tests without a slot wait at the end of their track. */
function withEveryTest({ model }: Compiled, solution: Solution): Solution {
	const there = new Set(solution.sequences.flat());
	return {
		...solution,
		sequences: solution.sequences.map((own, t) => [
			...own,
			...Array.from({ length: model.kinds }, (_, kind) => kind).filter(
				(kind) =>
					model.isSingle[kind] === 1 && model.tracks[t]!.takes[kind] === 1 && !there.has(kind)
			)
		])
	};
}

/** The plan that a solution stands for: batches without a place dropped, the others filled anew. */
export function planFrom(problem: PlanProblem, compiled: Compiled, solution: Solution): WeekPlan {
	const starts = startsOf(compiled, problem, solution);
	const placedG = new Map<ProductionNeed, number>();
	const batches = [...Map.groupBy(starts, ({ kind }) => kind)].flatMap(([k, own]) => {
		const kind = compiled.kinds[k]!;
		if (!('leftG' in kind))
			return own.map(({ t, startMs }) =>
				placedAt(problem, kind.need, t, startMs, kind.need.chargeG)
			);
		const counts: Counts = problem.roasters
			.map((roaster, t) => [roaster, own.filter((one) => one.t === t).length] as const)
			.filter(([, count]) => count > 0);
		const split = splitFor(kind.leftG, counts);
		placedG.set(kind.need, split.plannedG);
		return split.runs.flatMap((run) =>
			own
				.filter(({ t }) => problem.roasters[t] === run.roaster)
				.map(({ t, startMs }, i) => placedAt(problem, kind.need, t, startMs, chargeOf(run, i)))
		);
	});
	const fixed: readonly Placed[] = problem.locked.map((slot) => ({
		slot,
		traits: slot.traits,
		locked: true
	}));
	const timelines = problem.roasters.map(
		(roaster) =>
			[
				roaster.id,
				timelineOf(roaster, problem.windows, [...fixed, ...batches], problem.fromMs)
			] as const
	);
	const tests = new Set(batches.map(({ slot }) => slot.testBatchId));
	const pending = [
		...compiled.kinds.flatMap((kind) =>
			'leftG' in kind
				? pendingMass(problem, kind.need, kind.leftG, placedG.get(kind.need) ?? 0)
				: tests.has(kind.need.testBatchId)
					? []
					: [pendingTest(problem, kind.need, tests)]
		),
		...compiled.hopeless.map((need) => pendingTest(problem, need, tests))
	];
	const rule = 'Bettered by search from the plan by rule: least cost by your weights so far.';
	return finishPlan(problem, new Map(timelines), pending, rule);
}

interface Start {
	readonly kind: number;
	readonly t: number;
	readonly startMs: number;
}

/** When each batch of a solution starts; those without a place left out. */
function startsOf({ model }: Compiled, problem: PlanProblem, solution: Solution): readonly Start[] {
	const board = boardOf(model, solution, 0);
	let starts: Start[] = [];
	// Once more for each track that a test may wait for.
	for (let i = 0; i <= problem.roasters.length; i += 1)
		starts = model.tracks.flatMap((_, t) => trackStarts(board, t));
	return starts;
}

function trackStarts(board: Board, t: number): Start[] {
	const { model } = board;
	const track = model.tracks[t]!;
	const lane = board.lanes[t]!;
	const starts: Start[] = [];
	board.sweep += 1;
	for (let p = 0; p < lane.length; p += 1) board.aheadIn[lane.kinds[p]!] = board.sweep;
	let [stop, endMs, cls] = [0, track.firstEndMs, track.firstClass];
	const batches = Array.from({ length: lane.length }, (_, p) =>
		Array.from({ length: lane.counts[p]! }, () => lane.kinds[p]!)
	).flat();
	for (const kind of batches) {
		place(board, track, kind, stop, endMs, cls);
		const isPlaced = placed.stop >= 0;
		if (model.isSingle[kind] === 1) {
			board.aheadIn[kind] = 0;
			board.endOf[kind] = isPlaced ? placed.endMs : Infinity;
		}
		if (!isPlaced) continue;
		[stop, endMs, cls] = [placed.stop, placed.endMs, model.classOf[kind]!];
		starts.push({ kind, t, startMs: placed.startMs });
	}
	return starts;
}

function placedAt(
	problem: PlanProblem,
	need: ProductionNeed | TestNeed,
	t: number,
	startMs: number,
	chargeG: number
): Placed {
	const roaster = problem.roasters[t]!;
	const isTest = 'testBatchId' in need;
	const slot: SlotFacts = {
		kind: isTest ? 'test' : 'production',
		roasterId: roaster.id,
		startMs,
		endMs: startMs + roaster.cycleMin * 60_000,
		lotId: need.lotId,
		productId: isTest ? null : need.productId,
		testBatchId: isTest ? need.testBatchId : null,
		chargeG,
		dueMs: need.dueMs
	};
	return { slot, traits: need, locked: false };
}

/** What of a need has no slot: what batches can't hold, and what found no room. */
function pendingMass(
	problem: PlanProblem,
	need: ProductionNeed,
	leftG: number,
	placedG: number
): readonly Pending[] {
	const openG = leftG - placedG;
	if (openG <= 0) return [];
	const plannedG = splitsOf(leftG, eligible(need, problem.roasters))[0]?.plannedG ?? 0;
	const limitsG = Math.min(openG, leftG - plannedG);
	const pending: Pending[] = [];
	if (limitsG > 0)
		pending.push({
			need,
			greenG: limitsG,
			cause: { kind: 'limits', askedG: leftG, plannedG: leftG - limitsG }
		});
	if (openG > limitsG) pending.push({ need, greenG: openG - limitsG, cause: { kind: 'room' } });
	return pending;
}

function pendingTest(
	problem: PlanProblem,
	need: TestNeed,
	placedTests: ReadonlySet<number | null>
): Pending {
	const roaster = problem.roasters.find(({ id }) => id === need.roasterId)!;
	const before = need.afterTestBatchId;
	const isFixed = problem.locked.some(({ testBatchId }) => testBatchId === before);
	const { chargeG: greenG } = need;
	if (greenG < roaster.minChargeG || greenG > roaster.maxChargeG)
		return { need, greenG, cause: { kind: 'limits', askedG: greenG, plannedG: 0 } };
	if (before !== null && !isFixed && !placedTests.has(before))
		return { need, greenG, cause: { kind: 'test before', testBatchId: before } };
	return { need, greenG, cause: { kind: 'room' } };
}

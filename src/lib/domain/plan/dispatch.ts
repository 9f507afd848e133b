import type { Outcome } from '../quantity/problem.ts';
import type { InstantMs } from '../quantity/time.ts';
import { chargeOf, splitsOf, type BatchSplit, type Run } from './batches.ts';
import { USUAL_WEIGHTS, costOf, type Costed, type PlanWeights } from './objective.ts';
import { nextInOrder, orderOf, type Work } from './order.ts';
import type { WeekPlan } from './plan.ts';
import {
	eligible,
	problemsIn,
	regularEndOf,
	type PlanProblem,
	type ProductionNeed,
	type Roaster,
	type SlotFacts,
	type TestNeed
} from './problem.ts';
import { finishPlan, slotsOf } from './reasons.ts';
import {
	MINUTE_MS,
	earliestFit,
	earliestFits,
	timelineOf,
	withSlots,
	type Fit,
	type Placed,
	type Timeline
} from './timeline.ts';
import type { Cause, Pending } from './unplaced.ts';

/**
 * The plan at once: a deterministic rule, no search.
 * 1. Locked slots stay and count towards their needs.
 * 2. Earliest due first. A test that others wait for is due early enough for them.
 * 3. Among equal due moments: what needs no cleaning first, tests before production, certified before
 *    uncertified before decaf, light before dark.
 * 4. A need is split into as few, as even batches as the roasters' limits allow; of the splits the one
 *    with least left over, then least late, then (4a) fewest roaster minutes or (4b) earliest finish.
 * 5. A batch takes the earliest start in a window that leaves warm-up, changeover and cleaning their
 *    minutes, its own and those of the slot after it.
 * 6. A test waits for the cupping of the one before it.
 * 7. The whole is done with 4a and with 4b, and the plan of the least exact cost kept (objective.ts). Where
 *    that is late or leaves something over, it is done once more with overtime, and kept if it costs less.
 * Earliest due first is Jackson's rule (1955); the rest is common practice, no source.
 */

const PREFERENCES = ['fewest roaster minutes', 'earliest finish'] as const;
type Preference = (typeof PREFERENCES)[number];

/** Everything placed so far. Timelines are values, so that a split can be tried and dropped. */
interface Draft {
	readonly timelines: ReadonlyMap<number, Timeline>;
	readonly pending: readonly Pending[];
	/** When the next test of a lot may start, by the test batch it waits for. */
	readonly cuppedMs: ReadonlyMap<number, InstantMs>;
}

/** One way to place what is left of a need. */
interface Trial {
	readonly runs: readonly { readonly run: Run; readonly fits: readonly Fit[] }[];
	readonly unplacedG: number;
	readonly lateG: number;
	readonly minutes: number;
	readonly finishMs: InstantMs;
}

/** Plans the problem by rule; fails with everything that makes it unfit to plan. */
export function dispatch(problem: PlanProblem, weights = USUAL_WEIGHTS): Outcome<WeekPlan> {
	const problems = problemsIn(problem);
	if (problems.length > 0) return { ok: false, problems };
	const hasOvertime = problem.windows.some((one) => regularEndOf(one) < one.endMs);
	const tryWith = triesOf(problem, weights);
	const regular = hasOvertime ? regularOnly(problem) : problem;
	const tries = PREFERENCES.map((preference) => tryWith(regular, preference));
	const best = cheapest(tries);
	const needsMore = best.draft.pending.length > 0 || best.isLate;
	const { draft, preference, within } =
		hasOvertime && needsMore ? cheapest([best, tryWith(problem, best.preference)]) : best;
	const overtime = hasOvertime && within === problem ? '; with overtime' : '';
	const rule = `Earliest due first, then light before dark with least cleaning; ${preference}${overtime}.`;
	return { ok: true, value: finishPlan(problem, draft.timelines, draft.pending, rule) };
}

/** A whole plan by one preference, with what it costs. */
interface Try {
	readonly draft: Draft;
	readonly preference: Preference;
	readonly within: PlanProblem;
	readonly cost: number;
	readonly isLate: boolean;
}

function triesOf(
	problem: PlanProblem,
	weights: PlanWeights
): (within: PlanProblem, preference: Preference) => Try {
	const order = orderOf(problem);
	return (within, preference) => {
		const draft = withAllHours(problem, draftFor(within, order, preference));
		const { slots, unplaced } = costed(draft);
		const cost = costOf(problem, { slots, unplaced }, weights).total;
		const isLate = slots.some(({ endMs, dueMs, locked }) => !locked && endMs > dueMs);
		return { draft, preference, within, cost, isLate };
	};
}

function cheapest(tries: readonly Try[]): Try {
	return tries.reduce((best, one) => (one.cost < best.cost ? one : best));
}

function costed({ timelines, pending }: Draft): Costed {
	return {
		slots: [...timelines.values()].flatMap(slotsOf),
		unplaced: pending.map(({ need, greenG }) => ({
			kind: 'testBatchId' in need ? 'test' : 'production',
			greenG
		}))
	};
}

/** The problem without its overtime. */
function regularOnly(problem: PlanProblem): PlanProblem {
	const windows = problem.windows
		.map((window) => ({ ...window, endMs: regularEndOf(window) }))
		.filter(({ startMs, endMs }) => startMs < endMs);
	return { ...problem, windows };
}

/** A draft with all the hours of the problem: they explain what it leaves over. */
function withAllHours(problem: PlanProblem, draft: Draft): Draft {
	const timelines = [...draft.timelines].map(
		([id, { roaster, placed }]) =>
			[id, timelineOf(roaster, problem.windows, placed, problem.fromMs)] as const
	);
	return { ...draft, timelines: new Map(timelines) };
}

function draftFor(
	problem: PlanProblem,
	order: readonly (readonly Work[])[],
	preference: Preference
): Draft {
	let draft = startingDraft(problem);
	for (const group of order) {
		let left = group;
		while (left.length > 0) {
			const work = nextInOrder(left, draft.timelines);
			left = left.filter((other) => other !== work);
			draft =
				work.kind === 'test'
					? placeTest(problem, draft, work.need)
					: placeProduction(problem, draft, work.need, work.leftG, preference);
		}
	}
	return draft;
}

function startingDraft(problem: PlanProblem): Draft {
	const locked: readonly Placed[] = problem.locked.map((slot) => ({
		slot,
		traits: slot.traits,
		locked: true
	}));
	return {
		timelines: new Map(
			problem.roasters.map((roaster) => [
				roaster.id,
				timelineOf(roaster, problem.windows, locked, problem.fromMs)
			])
		),
		pending: [],
		cuppedMs: new Map(
			problem.locked.flatMap((slot) =>
				slot.testBatchId === null ? [] : [[slot.testBatchId, slot.endMs + problem.cuppingLagMs]]
			)
		)
	};
}

function placeProduction(
	problem: PlanProblem,
	draft: Draft,
	need: ProductionNeed,
	leftG: number,
	preference: Preference
): Draft {
	const splits = knownSplits(need, leftG, problem.roasters);
	const plannedG = splits[0]?.plannedG ?? 0;
	const over: readonly Pending[] =
		plannedG < leftG
			? [{ need, greenG: leftG - plannedG, cause: { kind: 'limits', askedG: leftG, plannedG } }]
			: [];
	const within = { ...draft, pending: [...draft.pending, ...over] };
	const best = splits
		.map((split) => tryOut(draft.timelines, need, split, problem.fromMs))
		.reduce<Trial | null>(
			(kept, trial) => (kept === null || isBetter(trial, kept, preference) ? trial : kept),
			null
		);
	if (best === null) return within;
	const placed = commit(within, need, best);
	if (best.unplacedG === 0) return placed;
	// What one split leaves over may still find room in batches of another.
	if (best.unplacedG < plannedG) {
		return placeProduction(problem, placed, need, best.unplacedG, preference);
	}
	const waiting: Pending = { need, greenG: plannedG, cause: { kind: 'room' } };
	return { ...within, pending: [...within.pending, waiting] };
}

const lastSplits = new WeakMap<
	ProductionNeed,
	{ leftG: number; roasters: readonly Roaster[]; splits: readonly BatchSplit[] }
>();

/** The splits of a need; every try of a plan asks for the same ones. */
function knownSplits(
	need: ProductionNeed,
	leftG: number,
	roasters: readonly Roaster[]
): readonly BatchSplit[] {
	const last = lastSplits.get(need);
	if (last?.leftG === leftG && last.roasters === roasters) return last.splits;
	const splits = splitsOf(leftG, eligible(need, roasters));
	lastSplits.set(need, { leftG, roasters, splits });
	return splits;
}

function tryOut(
	timelines: ReadonlyMap<number, Timeline>,
	need: ProductionNeed,
	split: BatchSplit,
	fromMs: InstantMs
): Trial {
	const notBeforeMs = Math.max(need.notBeforeMs ?? fromMs, fromMs);
	const runs = split.runs.map((run) => ({
		run,
		fits: earliestFits(
			timelines.get(run.roaster.id)!,
			{ traits: need, notBeforeMs, within: null },
			run.count
		)
	}));
	let [placedG, lateG, minutes, finishMs] = [0, 0, 0, fromMs];
	for (const { run, fits } of runs) {
		for (const [i, { startMs, setupMin }] of fits.entries()) {
			const endMs = startMs + run.roaster.cycleMin * MINUTE_MS;
			placedG += chargeOf(run, i);
			minutes += setupMin + run.roaster.cycleMin;
			finishMs = Math.max(finishMs, endMs);
			if (endMs > need.dueMs) lateG += chargeOf(run, i);
		}
	}
	return { runs, unplacedG: split.plannedG - placedG, lateG, minutes, finishMs };
}

function commit(draft: Draft, need: ProductionNeed, trial: Trial): Draft {
	const timelines = new Map(draft.timelines);
	for (const { run, fits } of trial.runs) {
		const timeline = timelines.get(run.roaster.id)!;
		const batches = fits.map(({ startMs }, i) =>
			batchOf(need, run.roaster, startMs, chargeOf(run, i))
		);
		timelines.set(run.roaster.id, withSlots(timeline, batches));
	}
	return { ...draft, timelines };
}

function isBetter(trial: Trial, kept: Trial, preference: Preference): boolean {
	const keys = ({ unplacedG, lateG, minutes, finishMs }: Trial) =>
		preference === 'earliest finish'
			? [unplacedG, lateG, finishMs, minutes]
			: [unplacedG, lateG, minutes, finishMs];
	return compareScores(keys(trial), keys(kept)) < 0;
}

function placeTest(problem: PlanProblem, draft: Draft, need: TestNeed): Draft {
	const timeline = draft.timelines.get(need.roasterId)!;
	const { roaster } = timeline;
	const wait = (waiting: TestNeed, cause: Cause): Draft => ({
		...draft,
		pending: [...draft.pending, { need: waiting, greenG: need.chargeG, cause }]
	});
	if (need.chargeG < roaster.minChargeG || need.chargeG > roaster.maxChargeG) {
		return wait(need, { kind: 'limits', askedG: need.chargeG, plannedG: 0 });
	}
	const before = need.afterTestBatchId;
	const cuppedMs = before === null ? -Infinity : draft.cuppedMs.get(before);
	if (before !== null && cuppedMs === undefined) {
		return wait(need, { kind: 'test before', testBatchId: before });
	}
	const notBeforeMs = Math.max(need.notBeforeMs ?? -Infinity, cuppedMs!, problem.fromMs);
	const fit = earliestFit(timeline, {
		traits: need,
		notBeforeMs,
		within: problem.profiling ?? null
	});
	if (fit === null) return wait({ ...need, notBeforeMs }, { kind: 'room' });
	const placed = batchOf(need, roaster, fit.startMs, need.chargeG);
	const { endMs } = placed.slot;
	return {
		...draft,
		timelines: new Map(draft.timelines).set(roaster.id, withSlots(timeline, [placed])),
		cuppedMs: new Map(draft.cuppedMs).set(need.testBatchId, endMs + problem.cuppingLagMs)
	};
}

function compareScores(a: readonly number[], b: readonly number[]): number {
	for (const [i, value] of a.entries()) {
		if (value !== b[i]) return value - b[i]!;
	}
	return 0;
}

function batchOf(
	need: ProductionNeed | TestNeed,
	roaster: Roaster,
	startMs: InstantMs,
	chargeG: number
): Placed {
	const isTest = 'testBatchId' in need;
	const slot: SlotFacts = {
		kind: isTest ? 'test' : 'production',
		roasterId: roaster.id,
		startMs,
		endMs: startMs + roaster.cycleMin * MINUTE_MS,
		lotId: need.lotId,
		productId: isTest ? null : need.productId,
		testBatchId: isTest ? need.testBatchId : null,
		chargeG,
		dueMs: need.dueMs
	};
	return { slot, traits: need, locked: false };
}

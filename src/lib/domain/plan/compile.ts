import { changeoverBetween } from './changeover.ts';
import { HOURS, type SearchModel, type Solution, type Stop, type Track } from './model.ts';
import type { PlanWeights } from './objective.ts';
import { lockedByNeed } from './order.ts';
import type { WeekPlan } from './plan.ts';
import {
	eligible,
	needKey,
	regularEndOf,
	shiftStartOf,
	type BatchTraits,
	type LockedSlot,
	type PlanProblem,
	type ProductionNeed,
	type Roaster,
	type TestNeed,
	type Window
} from './problem.ts';
import { ALL_TRAITS, MINUTE_MS, traitsIndex } from './timeline.ts';

/** From a planning problem to what the search works on. */

const DAY_MS = 86_400_000;

/** What a kind of the model stands for. */
export type Kind =
	{ readonly need: ProductionNeed; readonly leftG: number } | { readonly need: TestNeed };

export interface Compiled {
	readonly model: SearchModel;
	readonly kinds: readonly Kind[];
	/** Tests that no slot can be found for whatever is done: outside the charge limits, or after such a one. */
	readonly hopeless: readonly TestNeed[];
	/** The windows that the model counts, in its numbering. */
	readonly windows: readonly Window[];
}

/** The search's model of a problem that is fit to plan. */
export function compile(problem: PlanProblem, weights: PlanWeights): Compiled {
	const held = lockedByNeed(problem);
	const production = problem.production
		.map((need) => ({ need, leftG: need.greenG - (held.get(needKey(need)) ?? 0) }))
		.filter(({ leftG }) => leftG > 0);
	const hopeless = hopelessTests(problem);
	const fixed = new Map(problem.locked.map((slot) => [slot.testBatchId, slot]));
	const tests = problem.tests.filter(
		(test) => !hopeless.includes(test) && !fixed.has(test.testBatchId)
	);
	const kinds: Kind[] = [...production, ...tests.map((need) => ({ need }))];
	const windows = problem.windows
		.filter(({ endMs }) => endMs > problem.fromMs)
		.toSorted((a, b) => a.startMs - b.startMs);
	const model: SearchModel = {
		kinds: kinds.length,
		classes: ALL_TRAITS.length + 1,
		classOf: Int32Array.from(kinds, ({ need }) => classOf(need)),
		dueMs: Float64Array.from(kinds, ({ need }) => need.dueMs),
		notBeforeMs: Float64Array.from(kinds, ({ need }) =>
			Math.max(problem.fromMs, need.notBeforeMs ?? -Infinity, lockedCuppingMs(problem, fixed, need))
		),
		after: Int32Array.from(kinds, ({ need }) =>
			'testBatchId' in need
				? kinds.findIndex(
						(other) =>
							'testBatchId' in other.need && other.need.testBatchId === need.afterTestBatchId
					)
				: -1
		),
		lagMs: problem.cuppingLagMs,
		needsPresence: Uint8Array.from(kinds, (kind) =>
			Number(isTest(kind) && problem.profiling !== undefined)
		),
		presences: problem.profiling ?? [],
		isSingle: Uint8Array.from(kinds, (kind) => Number(isTest(kind))),
		massG: Float64Array.from(kinds, (kind) => ('leftG' in kind ? kind.leftG : 1000)),
		lateCost: Float64Array.from(kinds, (kind) =>
			isTest(kind) ? weights.lateTest : weights.lateKg
		),
		lateMsCost: Float64Array.from(
			kinds,
			(kind) => (isTest(kind) ? weights.lateTestDay : weights.lateKgDay) / DAY_MS
		),
		unplacedCost: Float64Array.from(kinds, (kind) =>
			isTest(kind) ? weights.unplacedTest : weights.unplacedKg
		),
		overtimeMsCost: weights.overtimeMin / MINUTE_MS,
		windows: windows.length,
		hasOvertime: Uint8Array.from(windows, (window) => Number(regularEndOf(window) < window.endMs)),
		tracks: problem.roasters.map((roaster) => trackOf(problem, weights, roaster, kinds, windows))
	};
	return { model, kinds, hopeless, windows };
}

function isTest(kind: Kind): boolean {
	return !('leftG' in kind);
}

/** Class 0 is a clean roaster. */
function classOf(traits: BatchTraits): number {
	return traitsIndex(traits) + 1;
}

function lockedCuppingMs(
	problem: PlanProblem,
	fixed: ReadonlyMap<number | null, LockedSlot>,
	need: ProductionNeed | TestNeed
): number {
	if (!('testBatchId' in need) || need.afterTestBatchId === null) return -Infinity;
	const before = fixed.get(need.afterTestBatchId);
	return before ? before.endMs + problem.cuppingLagMs : -Infinity;
}

function hopelessTests(problem: PlanProblem): readonly TestNeed[] {
	const found = new Set<number>();
	const isOut = (test: TestNeed): boolean => {
		const { minChargeG, maxChargeG } = problem.roasters.find(({ id }) => id === test.roasterId)!;
		const isOff = test.chargeG < minChargeG || test.chargeG > maxChargeG;
		return isOff || (test.afterTestBatchId !== null && found.has(test.afterTestBatchId));
	};
	const fixed = new Set(problem.locked.map(({ testBatchId }) => testBatchId));
	const open = problem.tests.filter(({ testBatchId }) => !fixed.has(testBatchId));
	for (let size = -1; size < found.size;) {
		size = found.size;
		for (const test of open) if (isOut(test)) found.add(test.testBatchId);
	}
	return open.filter(({ testBatchId }) => found.has(testBatchId));
}

function trackOf(
	problem: PlanProblem,
	weights: PlanWeights,
	roaster: Roaster,
	kinds: readonly Kind[],
	windows: readonly Window[]
): Track {
	const takes = kinds.map((kind) =>
		'leftG' in kind ? eligible(kind.need, [roaster]).length > 0 : kind.need.roasterId === roaster.id
	);
	const { setupMs, setupCost } = setupsOf(roaster, weights);
	const cycleMs = roaster.cycleMin * MINUTE_MS;
	return {
		takes: Uint8Array.from(takes, Number),
		lastsMs: new Float64Array(kinds.length).fill(cycleMs),
		batchCost: new Float64Array(kinds.length).fill(roaster.cycleMin * weights.minuteInUse),
		minG: roaster.minChargeG,
		maxG: roaster.maxChargeG,
		setupMs,
		setupCost,
		warmUpMs: roaster.warmUpMin * MINUTE_MS,
		warmUpCost: roaster.warmUpMin * weights.minuteInUse,
		firstClass: roaster.lastBatch ? classOf(roaster.lastBatch) : 0,
		firstEndMs: (roaster.lastBatch && roaster.lastEndMs) ?? -Infinity,
		stops: stopsOf(problem, weights, roaster, windows)
	};
}

function setupsOf(
	roaster: Roaster,
	weights: PlanWeights
): { setupMs: Float64Array; setupCost: Float64Array } {
	const classes = ALL_TRAITS.length + 1;
	const setupMs = new Float64Array(classes * classes);
	const setupCost = new Float64Array(classes * classes);
	ALL_TRAITS.forEach((earlier, i) =>
		ALL_TRAITS.forEach((later, j) => {
			const change = changeoverBetween(roaster, earlier, later);
			if (!change || change.minutes === 0) return;
			const at = (i + 1) * classes + j + 1;
			const perMin = weights.minuteInUse + (change.kind === 'cleaning' ? weights.cleaningMin : 0);
			setupMs[at] = change.minutes * MINUTE_MS;
			setupCost[at] = change.minutes * perMin + weights.changeover;
		})
	);
	return { setupMs, setupCost };
}

/** A roaster's free stretches and locked slots in time order. */
function stopsOf(
	problem: PlanProblem,
	weights: PlanWeights,
	roaster: Roaster,
	windows: readonly Window[]
): readonly Stop[] {
	const locks = problem.locked
		.filter(({ roasterId }) => roasterId === roaster.id)
		.toSorted((a, b) => a.startMs - b.startMs);
	const stops = [
		...locks.map((lock) => lockStop(problem, weights, lock, windows)),
		...windows.flatMap((window, number) =>
			window.roasterId === roaster.id ? freeStops(problem, locks, window, number) : []
		)
	].sort((a, b) => a.startMs - b.startMs || Number(a.isLock) - Number(b.isLock));
	return stops.map((stop, i) => {
		if (stop.isLock) return stop;
		const nextLock = stops.findIndex((other, j) => j > i && other.isLock);
		const next = stops[nextLock];
		if (!next) return stop;
		const own = windows[next.window];
		const openMs = Math.max(own?.startMs ?? next.startMs, problem.fromMs);
		const isNextHere = next.startMs < windows[stop.window]!.endMs;
		return { ...stop, nextLock, isNextHere, openMs };
	});
}

const NO_LOCK = { isLock: false, lockClass: 0, lockCost: 0, counts: false };
const NO_NEXT = { nextLock: -1, isNextHere: false, openMs: 0 };

/** What the locked slots leave of a window. */
function freeStops(
	problem: PlanProblem,
	locks: readonly LockedSlot[],
	window: Window,
	number: number
): readonly Stop[] {
	const inside = locks.filter((lock) => lock.startMs < window.endMs && lock.endMs > window.startMs);
	const edges = [window.startMs, ...inside.map(({ endMs }) => endMs)];
	return edges.flatMap((edge, i): readonly Stop[] => {
		const startMs = Math.max(edge, problem.fromMs);
		const endMs = inside[i]?.startMs ?? window.endMs;
		if (endMs <= startMs) return [];
		return [
			{
				...NO_LOCK,
				...NO_NEXT,
				startMs,
				endMs,
				regularEndMs: regularEndOf(window),
				shiftStartMs: shiftStartOf(window),
				window: number
			}
		];
	});
}

function lockStop(
	problem: PlanProblem,
	weights: PlanWeights,
	lock: LockedSlot,
	windows: readonly Window[]
): Stop {
	const number = windows.findIndex(
		({ roasterId, startMs, endMs }) =>
			roasterId === lock.roasterId && startMs <= lock.startMs && lock.endMs <= endMs
	);
	const window = windows[number];
	const lateMs = Math.max(0, lock.endMs - lock.dueMs);
	const [isLate, kg] = [lateMs > 0 ? 1 : 0, lock.chargeG / 1000];
	const late =
		lock.kind === 'test'
			? isLate * weights.lateTest + (lateMs / DAY_MS) * weights.lateTestDay
			: kg * (isLate * weights.lateKg + (lateMs / DAY_MS) * weights.lateKgDay);
	return {
		...NO_NEXT,
		isLock: true,
		startMs: lock.startMs,
		endMs: lock.endMs,
		regularEndMs: window ? regularEndOf(window) : Infinity,
		shiftStartMs: window ? shiftStartOf(window) : -Infinity,
		window: number,
		lockClass: classOf(lock.traits),
		lockCost: late + ((lock.endMs - lock.startMs) / MINUTE_MS) * weights.minuteInUse,
		counts: lock.startMs >= problem.fromMs
	};
}

/** A plan's own slots as a solution to start from. */
export function solutionOf(
	{ kinds, windows }: Compiled,
	problem: PlanProblem,
	plan: WeekPlan
): Solution {
	const kindOf = new Map(
		kinds.map((kind, i) => [
			'leftG' in kind ? needKey(kind.need) : `test ${kind.need.testBatchId}`,
			i
		])
	);
	const own = plan.slots.filter(({ locked }) => !locked);
	return {
		sequences: problem.roasters.map(({ id }) =>
			own
				.filter(({ roasterId }) => roasterId === id)
				.toSorted((a, b) => a.startMs - b.startMs)
				.map((slot) =>
					kindOf.get(slot.kind === 'test' ? `test ${slot.testBatchId}` : needKey(slot))!
				)
		),
		hours: windows.map((window) =>
			own.some(
				(slot) =>
					slot.roasterId === window.roasterId &&
					slot.startMs >= window.startMs &&
					slot.endMs <= window.endMs &&
					slot.endMs > regularEndOf(window)
			)
				? HOURS.all
				: HOURS.regular
		)
	};
}

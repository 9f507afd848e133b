import { seededChance } from '../stats/chance.ts';
import { boardOf, emptyLane, keepSwept, lay, solutionOn, sweep, type Lane } from './decode.ts';
import type { SearchModel, Solution } from './model.ts';
import { draw, tidy, trialOf, type Draft } from './moves.ts';

/**
 * Simulated annealing (Kirkpatrick, Gelatt and Vecchi 1983) on the exact cost, with block moves. Rules:
 * 1. The same model, start, seed and number of steps give the same solution: nothing depends on the clock.
 * 2. It goes in rounds, each cooling from a heat, longer than the one before, and each from the best so far:
 *    whenever it is stopped, the best so far is there.
 * 3. The heat is measured in that at which a change of middling harm is taken half the time. A round that
 *    found nothing better is followed by a hotter one, one that did by a cooler one.
 * The constants were chosen on weeks apart from those that the figures are made on (seeds 1101 to 1303).
 */
export interface Search {
	/** Cost of the best so far, roaster minutes; slots that stay and mass that no batch holds included. */
	readonly cost: number;
	readonly steps: number;
	/** Takes so many steps more. */
	run(steps: number): void;
	/** The best so far. */
	best(): Solution;
}

/** Runs that a solution may have more than the start has batches. */
const SPARE = 200;
const FIRST_ROUND = 60_000;
const ROUND_GROWTH = 1.6;
const LONGEST_ROUND = 3_000_000;
/** The first heat, the least and the most, as shares of that at which middling harm is taken. */
const FIRST_HEAT = 1 / 60;
const LEAST_HEAT = 1 / 120;
const MOST_HEAT = 1 / 20;
/** What a round cools to, as a share of its heat. */
const COOLEST = 0.03;
const COOLER = 0.8;
const HOTTER = 2;
const SAMPLE = 400;
const STEPS_AT_ONE_HEAT = 64;

export function searchFrom(model: SearchModel, start: Solution, seed: number): Search {
	const chance = seededChance(seed);
	const draft = draftFrom(model, start, chance);
	const { board } = draft;
	const restCost = new Float64Array(model.kinds);
	let cost = settleAll(draft, restCost);
	let bestCost = cost;
	let best = solutionOn(board);
	let steps = 0;
	let round = { steps: 0, of: FIRST_ROUND, hot: 0, from: cost };
	let heat = 0;

	function step(): void {
		const delta = tryOne(draft, restCost);
		if (delta === null) return;
		if (delta <= 0 || chance() < Math.exp(-delta / heat)) {
			keepMove(draft, restCost);
			cost += delta;
			if (cost < bestCost - 1e-7) {
				bestCost = cost;
				best = solutionOn(board);
			}
		} else undo(draft);
	}

	function nextRound(): void {
		const of = Math.min(LONGEST_ROUND, Math.round(round.of * ROUND_GROWTH));
		const hot = bestCost < round.from ? round.hot * COOLER : round.hot * HOTTER;
		const within = Math.min(Math.max(hot, middling * LEAST_HEAT), middling * MOST_HEAT);
		round = { steps: 0, of, hot: within, from: bestCost };
		lay(board, best);
		cost = settleAll(draft, restCost);
		bestCost = cost;
	}

	const middling = heatFor(draft, restCost);
	round.hot = middling * FIRST_HEAT;

	return {
		get cost() {
			return bestCost;
		},
		get steps() {
			return steps;
		},
		run(more) {
			for (let i = 0; i < more; i += 1) {
				if (round.steps === round.of) nextRound();
				if (round.steps % STEPS_AT_ONE_HEAT === 0)
					heat = round.hot * COOLEST ** (round.steps / round.of);
				step();
				round.steps += 1;
				steps += 1;
			}
		},
		best: () => best
	};
}

function draftFrom(model: SearchModel, start: Solution, chance: () => number): Draft {
	const board = boardOf(model, start, SPARE);
	return {
		board,
		counts: new Int32Array(model.tracks.length * model.kinds),
		keptCounts: new Int32Array(model.tracks.length * model.kinds),
		tracks: [],
		recounted: [],
		rehoured: [],
		keptHours: Uint8Array.from(board.hours),
		pick: (count) => Math.floor(chance() * count),
		windows: model.tracks.flatMap(({ stops }, track) => {
			const free = stops.filter(({ isLock }) => !isLock);
			return [...Map.groupBy(free, ({ window }) => window)].map(([window, [first]]) => ({
				window,
				track,
				shiftStartMs: first!.shiftStartMs
			}));
		}),
		lifted: emptyLane(board.lanes[0]?.kinds.length ?? 0)
	};
}

/** Counts and sweeps the whole board anew; its cost. */
function settleAll(draft: Draft, restCost: Float64Array): number {
	const { board, counts } = draft;
	const { model } = board;
	counts.fill(0);
	board.lanes.forEach((lane, t) => {
		for (let p = 0; p < lane.length; p += 1)
			counts[t * model.kinds + lane.kinds[p]!]! += lane.counts[p]!;
	});
	draft.keptCounts.set(counts);
	draft.keptHours.set(board.hours);
	let cost = 0;
	for (let kind = 0; kind < model.kinds; kind += 1) {
		if (!fill(draft, kind)) throw new Error(`Kind ${kind} has more batches than it fills.`);
		restCost[kind] = restOf(draft, kind);
		cost += restCost[kind]!;
	}
	board.keptKg.set(board.massKg);
	board.endOf.fill(Infinity);
	board.keptEndOf.fill(Infinity);
	board.freeFrom.fill(-Infinity);
	board.moved = 0;
	// A second time where a kind waits for one on a later track.
	const rounds = model.after.some((before) => before >= 0) ? model.tracks.length + 1 : 1;
	let lanesCost = 0;
	for (let i = 0; i < rounds; i += 1) {
		lanesCost = 0;
		board.lanes.forEach((lane, t) => {
			draft.tracks.length = 0;
			trialOf(draft, t);
			lane.cost.fill(0);
			lane.kgCost.fill(0);
			lane.tail = 0;
			sweep(board, t, 0, 0);
			keepSwept(board, t);
			lanesCost += board.swept[t]!.delta;
		});
	}
	board.keptEndOf.set(board.endOf);
	board.keptFreeFrom.set(board.freeFrom);
	board.moved = 0;
	board.touched.length = 0;
	return cost + lanesCost;
}

/** Fills a kind's batches to the same share of their span; false where even the smallest are too much. */
function fill({ board, counts }: Draft, kind: number): boolean {
	const { model, massKg } = board;
	const { kinds, tracks } = model;
	if (model.isSingle[kind] === 1) {
		for (let t = 0; t < tracks.length; t += 1) massKg[t * kinds + kind] = 1;
		return true;
	}
	let [leastG, mostG] = [0, 0];
	for (let t = 0; t < tracks.length; t += 1) {
		leastG += counts[t * kinds + kind]! * tracks[t]!.minG;
		mostG += counts[t * kinds + kind]! * tracks[t]!.maxG;
	}
	const massG = model.massG[kind]!;
	if (leastG > massG) return false;
	const share = mostG > leastG ? (Math.min(massG, mostG) - leastG) / (mostG - leastG) : 1;
	for (let t = 0; t < tracks.length; t += 1) {
		const { minG, maxG } = tracks[t]!;
		massKg[t * kinds + kind] = (minG + share * (maxG - minG)) / 1000;
	}
	return true;
}

/** What the mass of a kind that its batches can't hold costs. */
function restOf({ board, counts }: Draft, kind: number): number {
	const { model } = board;
	if (model.isSingle[kind] === 1) return 0;
	let openG = model.massG[kind]!;
	model.tracks.forEach((track, t) => (openG -= counts[t * model.kinds + kind]! * track.maxG));
	return openG > 0 ? (openG / 1000) * model.unplacedCost[kind]! : 0;
}

const MOST_SWEEPS = 12;

/** Draws a move and what it costs more; null where it can't be done, with everything as it was. */
function tryOne(draft: Draft, restCost: Float64Array): number | null {
	const { board, tracks, recounted } = draft;
	tracks.length = 0;
	recounted.length = 0;
	draft.rehoured.length = 0;
	if (!draw(draft)) return undo(draft);
	let delta = 0;
	for (const kind of recounted) {
		if (!fill(draft, kind)) return undo(draft);
		delta += restOf(draft, kind) - restCost[kind]!;
	}
	for (let i = 0; i < tracks.length; i += 1) sweepChanged(draft, tracks[i]!);
	if (board.touched.length > 0 && !followUp(draft)) return undo(draft);
	for (const t of tracks) delta += board.swept[t]!.delta;
	for (const kind of recounted) delta += refilled(draft, kind);
	return delta;
}

function sweepChanged({ board, rehoured }: Draft, t: number): void {
	const [lane, trial] = [board.lanes[t]!, board.trials[t]!];
	tidy(trial);
	let [from, same] = [0, 0];
	if (rehoured.length === 0) {
		const least = Math.min(lane.length, trial.length);
		while (from < least && isSame(lane, from, trial, from)) from += 1;
		const [last, trialLast] = [lane.length - 1, trial.length - 1];
		while (same < least - from && isSame(lane, last - same, trial, trialLast - same)) same += 1;
	}
	sweep(board, t, from, same);
}

function isSame(lane: Lane, p: number, trial: Lane, q: number): boolean {
	return lane.kinds[p] === trial.kinds[q] && lane.counts[p] === trial.counts[q];
}

/** What the runs of a kind that no sweep went over cost more by the mass that its batches now have. */
function refilled({ board, tracks }: Draft, kind: number): number {
	const { massKg, keptKg, lanes, model } = board;
	let delta = 0;
	for (let t = 0; t < lanes.length; t += 1) {
		const moreKg = massKg[t * model.kinds + kind]! - keptKg[t * model.kinds + kind]!;
		if (moreKg === 0) continue;
		const lane = lanes[t]!;
		const isSwept = tracks.includes(t);
		const { from, oldTo } = board.swept[t]!;
		for (let p = 0; p < lane.length; p += 1) {
			if (lane.kinds[p] !== kind || (isSwept && p >= from && p < oldTo)) continue;
			delta += moreKg * lane.kgCost[p]!;
		}
	}
	return delta;
}

/** Sweeps tracks again until what waits for moved tests stands after them; false where that never ends. */
function followUp(draft: Draft): boolean {
	const { board, tracks } = draft;
	const { model } = board;
	if (tracks.length === 1 && model.tracks.length === 1) return true;
	for (let i = 0, seen = 0; i < MOST_SWEEPS; i += 1) {
		const upTo = board.touched.length;
		if (seen === upTo) return true;
		const again = new Set<number>();
		for (; seen < upTo; seen += 1) {
			const before = board.touched[seen]!;
			const own = trackOf(draft, before);
			for (const kind of board.followers[before]!) {
				const t = trackOf(draft, kind);
				// On its own track the sweep has met it already.
				if (t !== own) again.add(t);
			}
		}
		for (const t of again) {
			if (t < 0) continue;
			trialOf(draft, t);
			sweep(board, t, 0, 0);
		}
	}
	return false;
}

/** The track on which a kind has its first batch under the move; -1 for none. */
function trackOf({ board, counts }: Draft, kind: number): number {
	const { kinds, tracks } = board.model;
	return tracks.findIndex((_, t) => counts[t * kinds + kind]! > 0);
}

function keepMove(draft: Draft, restCost: Float64Array): void {
	const { board, counts, keptCounts } = draft;
	for (const kind of draft.recounted) {
		restCost[kind] = restOf(draft, kind);
		copyKind(board.model, kind, counts, keptCounts);
		copyKind(board.model, kind, board.massKg, board.keptKg);
	}
	for (const t of draft.tracks) keepSwept(board, t);
	for (const window of draft.rehoured) draft.keptHours[window] = board.hours[window]!;
	for (const kind of board.touched) {
		board.keptEndOf[kind] = board.endOf[kind]!;
		board.keptFreeFrom[kind] = board.freeFrom[kind]!;
	}
	board.touched.length = 0;
	board.moved = 0;
}

/** Puts back everything that a move has changed. */
function undo(draft: Draft): null {
	const { board, counts, keptCounts } = draft;
	for (const kind of draft.recounted) {
		copyKind(board.model, kind, keptCounts, counts);
		copyKind(board.model, kind, board.keptKg, board.massKg);
	}
	for (const window of draft.rehoured) board.hours[window] = draft.keptHours[window]!;
	for (const kind of board.touched) {
		board.endOf[kind] = board.keptEndOf[kind]!;
		board.freeFrom[kind] = board.keptFreeFrom[kind]!;
	}
	board.touched.length = 0;
	board.moved = 0;
	return null;
}

/** Copies what is known of a kind on each track. */
function copyKind(
	{ kinds, tracks }: SearchModel,
	kind: number,
	from: Int32Array | Float64Array,
	to: Int32Array | Float64Array
): void {
	for (let t = 0; t < tracks.length; t += 1) to[t * kinds + kind] = from[t * kinds + kind]!;
}

/** The heat at which a change of middling harm is taken half the time; every sampled change is undone. */
function heatFor(draft: Draft, restCost: Float64Array): number {
	const harms: number[] = [];
	for (let i = 0; i < SAMPLE; i += 1) {
		const delta = tryOne(draft, restCost);
		if (delta === null) continue;
		if (delta > 0) harms.push(delta);
		undo(draft);
	}
	harms.sort((a, b) => a - b);
	return (harms[Math.floor(harms.length / 2)] ?? 1) / Math.LN2;
}

import { seededChance } from '../stats/chance.ts';
import { boardOf, keepSwept, sweep, type Board, type Lane, type Swept } from './decode.ts';
import type { SearchModel, Solution } from './model.ts';
import { draw, type Draft } from './moves.ts';

/**
 * Simulated annealing (Kirkpatrick, Gelatt and Vecchi 1983) on the exact cost, with block moves. Rules:
 * 1. The same model, start, seed and number of steps give the same solution: nothing depends on the clock.
 * 2. It goes in rounds, each cooling from a heat to near nothing, longer than the one before, and each from
 *    the best so far: whenever it is stopped, the best so far is there.
 * 3. The first heat is a twentieth of that at which a change of middling harm is taken half the time. A
 *    round that found nothing better is followed by a hotter one, one that did by a cooler one.
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

/** Batches that a solution may have more than the start. */
const SPARE = 200;
const FIRST_ROUND = 60_000;
const ROUND_GROWTH = 1.6;
const LONGEST_ROUND = 1_500_000;
const COOLEST = 0.002;
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
		} else dropMove(draft);
	}

	function nextRound(): void {
		const of = Math.min(LONGEST_ROUND, Math.round(round.of * ROUND_GROWTH));
		const hot = bestCost < round.from ? round.hot * COOLER : round.hot * HOTTER;
		round = { steps: 0, of, hot: Math.min(Math.max(hot, firstHeat / 4), hottest), from: bestCost };
		lay(draft, best);
		cost = settleAll(draft, restCost);
		bestCost = cost;
	}

	const hottest = heatFor(draft, restCost);
	const firstHeat = hottest / 20;
	round.hot = firstHeat;

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
		tracks: [],
		recounted: [],
		flipped: -1,
		pick: (count) => Math.floor(chance() * count),
		overtimeWindows: model.tracks.flatMap((track, t) => {
			const own = new Set(track.stops.map(({ window }) => window));
			return [...own]
				.filter((window) => model.hasOvertime[window] === 1)
				.map((window) => ({ window, track: t }));
		}),
		buffer: new Int32Array(board.lanes[0]?.kinds.length ?? 0)
	};
}

/** Puts a solution on the board in place of what is there. */
function lay({ board }: Draft, { sequences, overtime }: Solution): void {
	overtime.forEach((uses, window) => (board.overtime[window] = Number(uses)));
	sequences.forEach((own, t) => {
		board.lanes[t]!.kinds.set(own);
		board.lanes[t]!.length = own.length;
	});
}

function solutionOn({ lanes, overtime }: Board): Solution {
	return {
		sequences: lanes.map(({ kinds, length }) => Array.from(kinds.subarray(0, length))),
		overtime: Array.from(overtime, (uses) => uses === 1)
	};
}

/** Counts and sweeps the whole board anew; its cost. */
function settleAll(draft: Draft, restCost: Float64Array): number {
	const { board, counts } = draft;
	const { model } = board;
	counts.fill(0);
	board.lanes.forEach((lane, t) => {
		for (let p = 0; p < lane.length; p += 1) counts[t * model.kinds + lane.kinds[p]!]! += 1;
	});
	let cost = 0;
	for (let kind = 0; kind < model.kinds; kind += 1) {
		if (!fill(draft, kind)) throw new Error(`Kind ${kind} has more batches than it fills.`);
		restCost[kind] = restOf(draft, kind);
		cost += restCost[kind]!;
	}
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
			const trial = board.trials[t]!;
			trial.kinds.set(lane.kinds);
			trial.length = lane.length;
			lane.cost.fill(0);
			lane.tail = 0;
			const swept = sweep(board, t, 0, 0);
			keepSwept(board, t, swept);
			lanesCost += swept.delta;
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

/** Sweeps of the move under trial, by track. */
const swept: (Swept | null)[] = [];
const MOST_SWEEPS = 12;

/** Draws a move and what it costs more; null where it can't be done, with everything as it was. */
function tryOne(draft: Draft, restCost: Float64Array): number | null {
	const { board } = draft;
	draft.tracks.length = 0;
	draft.recounted.length = 0;
	draft.flipped = -1;
	if (!draw(draft)) return undo(draft);
	let delta = 0;
	for (const kind of draft.recounted) {
		if (!fill(draft, kind)) return undo(draft);
		delta += restOf(draft, kind) - restCost[kind]!;
	}
	for (let i = 0; i < draft.tracks.length; i += 1) sweepChanged(draft, draft.tracks[i]!);
	if (board.touched.length > 0 && !followUp(draft)) return undo(draft);
	for (const t of draft.tracks) delta += swept[t]!.delta;
	return delta;
}

function sweepChanged({ board, recounted, flipped }: Draft, t: number): void {
	const [lane, trial] = [board.lanes[t]!, board.trials[t]!];
	const least = Math.min(lane.length, trial.length);
	let [from, same] = [0, 0];
	if (flipped < 0) {
		while (from < least && lane.kinds[from] === trial.kinds[from]) from += 1;
		const shift = lane.length - trial.length;
		let p = trial.length - 1;
		while (same < least - from && trial.kinds[p] === lane.kinds[p + shift]) {
			same += 1;
			p -= 1;
		}
		for (const kind of recounted) [from, same] = around(trial, kind, from, same);
	}
	swept[t] = sweep(board, t, from, same);
}

/** A stretch widened so that every batch of a kind lies in it: their mass has changed. */
function around(trial: Lane, kind: number, from: number, same: number): [number, number] {
	const { kinds, length } = trial;
	let first = 0;
	while (first < from && kinds[first] !== kind) first += 1;
	let last = length - 1;
	while (last >= length - same && kinds[last] !== kind) last -= 1;
	return [first, Math.min(same, length - 1 - last)];
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
			if (!tracks.includes(t)) {
				const [lane, trial] = [board.lanes[t]!, board.trials[t]!];
				trial.kinds.set(lane.kinds);
				trial.length = lane.length;
				tracks.push(t);
			}
			swept[t] = sweep(board, t, 0, 0);
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
	const { board } = draft;
	for (const kind of draft.recounted) restCost[kind] = restOf(draft, kind);
	for (const t of draft.tracks) keepSwept(board, t, swept[t]!);
	for (const kind of board.touched) {
		board.keptEndOf[kind] = board.endOf[kind]!;
		board.keptFreeFrom[kind] = board.freeFrom[kind]!;
	}
	board.touched.length = 0;
	board.moved = 0;
}

function dropMove(draft: Draft): void {
	undo(draft);
}

/** Puts back everything that a move has changed. */
function undo(draft: Draft): null {
	const { board, counts } = draft;
	const { kinds } = board.model;
	for (const kind of draft.recounted) {
		for (let t = 0; t < board.lanes.length; t += 1)
			counts[t * kinds + kind] = countIn(board.lanes[t]!, kind);
		fill(draft, kind);
	}
	if (draft.flipped >= 0) board.overtime[draft.flipped] = 1 - board.overtime[draft.flipped]!;
	for (const kind of board.touched) {
		board.endOf[kind] = board.keptEndOf[kind]!;
		board.freeFrom[kind] = board.keptFreeFrom[kind]!;
	}
	board.touched.length = 0;
	board.moved = 0;
	return null;
}

function countIn({ kinds, length }: Lane, kind: number): number {
	let count = 0;
	for (let p = 0; p < length; p += 1) if (kinds[p] === kind) count += 1;
	return count;
}

/** The heat at which a change of middling harm is taken half the time; every sampled change is undone. */
function heatFor(draft: Draft, restCost: Float64Array): number {
	const harms: number[] = [];
	for (let i = 0; i < SAMPLE; i += 1) {
		const delta = tryOne(draft, restCost);
		if (delta === null) continue;
		if (delta > 0) harms.push(delta);
		dropMove(draft);
	}
	harms.sort((a, b) => a - b);
	return (harms[Math.floor(harms.length / 2)] ?? 1) / Math.LN2;
}

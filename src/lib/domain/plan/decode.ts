import {
	HOURS,
	type Hours,
	type SearchModel,
	type Solution,
	type Stop,
	type Track
} from './model.ts';

/**
 * When the batches of a sequence start, and what that costs. Each batch takes the earliest place after
 * the one before it, so one sweep over the track does; after a change only the stretch between the first
 * run that differs and the point where everything is as before is swept again. A run is batches of one
 * kind in a row: those that follow the first of them in a stop are summed, not placed one by one. Rules
 * are those of dispatch.ts 5 and 6.
 */

/** A track's runs with what the sweep knew before each, and the cost of each. */
export interface Lane {
	/** Number of runs. */
	length: number;
	readonly kinds: Int32Array;
	/** Batches of each run. */
	readonly counts: Int32Array;
	readonly stopAt: Int32Array;
	readonly endMs: Float64Array;
	readonly classAt: Int32Array;
	/** Cost of each run but for what each kilogram of its batches costs by being late or left out. */
	readonly cost: Float64Array;
	/** That, for a kilogram in each of the run's batches. */
	readonly kgCost: Float64Array;
	/** Cost of the slots that stay after the last batch. */
	tail: number;
}

/** The stretch of a lane that a sweep went over, in runs. */
export interface Swept {
	/** What the lane costs more than it did. */
	delta: number;
	from: number;
	/** End in the changed lane, and in the lane as it was. */
	to: number;
	oldTo: number;
	tail: number;
}

/** Where everything stands: lanes as they are, and lanes as a move would have them. */
export interface Board {
	readonly model: SearchModel;
	readonly lanes: readonly Lane[];
	readonly trials: readonly Lane[];
	/** What the last sweep of each track's trial lane found. */
	readonly swept: readonly Swept[];
	/** Kilograms of each batch by track * kinds + kind, under the move; 1 for a single one. */
	readonly massKg: Float64Array;
	/** The same without the move. */
	readonly keptKg: Float64Array;
	/** What of each window is used. */
	readonly hours: Uint8Array;
	/** End of single kinds that others wait for, under the move; Infinity without a slot. */
	readonly endOf: Float64Array;
	/** The same without the move. */
	readonly keptEndOf: Float64Array;
	/** The kinds that wait for a kind. */
	readonly followers: readonly (readonly number[])[];
	/** Start of a kind that waits and would stand there without waiting; -Infinity where it had to wait. */
	readonly freeFrom: Float64Array;
	readonly keptFreeFrom: Float64Array;
	/** Kinds whose end the move has touched. */
	readonly touched: number[];
	/** How many of them stand elsewhere than before. */
	moved: number;
	/** Number of the sweep, and for each kind the last sweep that has it still ahead. */
	sweep: number;
	readonly aheadIn: Int32Array;
}

export function emptyLane(capacity: number): Lane {
	return {
		length: 0,
		kinds: new Int32Array(capacity),
		counts: new Int32Array(capacity),
		stopAt: new Int32Array(capacity + 1),
		endMs: new Float64Array(capacity + 1),
		classAt: new Int32Array(capacity + 1),
		cost: new Float64Array(capacity),
		kgCost: new Float64Array(capacity),
		tail: 0
	};
}

/** A board with a solution on it, not swept yet, with room for so many runs more. */
export function boardOf(model: SearchModel, solution: Solution, spare: number): Board {
	const { sequences, hours } = solution;
	const most = sequences.reduce((sum, own) => sum + own.length, 0) + spare;
	const board: Board = {
		model,
		lanes: model.tracks.map(() => emptyLane(most)),
		trials: model.tracks.map(() => emptyLane(most)),
		swept: model.tracks.map(() => ({ delta: 0, from: 0, to: 0, oldTo: 0, tail: 0 })),
		massKg: new Float64Array(model.tracks.length * model.kinds),
		keptKg: new Float64Array(model.tracks.length * model.kinds),
		hours: Uint8Array.from(hours),
		endOf: new Float64Array(model.kinds).fill(Infinity),
		keptEndOf: new Float64Array(model.kinds).fill(Infinity),
		followers: Array.from({ length: model.kinds }, (_, kind) => followersOf(model, kind)),
		freeFrom: new Float64Array(model.kinds).fill(-Infinity),
		keptFreeFrom: new Float64Array(model.kinds).fill(-Infinity),
		touched: [],
		moved: 0,
		sweep: 0,
		aheadIn: new Int32Array(model.kinds)
	};
	lay(board, solution);
	return board;
}

/** Puts a solution on the board in place of what is there. */
export function lay({ lanes, hours }: Board, solution: Solution): void {
	hours.set(solution.hours);
	solution.sequences.forEach((own, t) => {
		const lane = lanes[t]!;
		lane.length = 0;
		for (const kind of own) {
			const isMore = lane.length > 0 && lane.kinds[lane.length - 1] === kind;
			if (!isMore) {
				lane.kinds[lane.length] = kind;
				lane.counts[lane.length] = 0;
				lane.length += 1;
			}
			lane.counts[lane.length - 1]! += 1;
		}
	});
}

/** What is on the board. */
export function solutionOn({ lanes, hours }: Board): Solution {
	return {
		sequences: lanes.map(({ kinds, counts, length }) =>
			Array.from({ length }, (_, p) => Array.from({ length: counts[p]! }, () => kinds[p]!)).flat()
		),
		hours: Array.from(hours, (used) => used as Hours)
	};
}

function followersOf({ after }: SearchModel, kind: number): readonly number[] {
	return Array.from(after.keys()).filter((other) => after[other] === kind);
}

/**
 * Sweeps the trial lane of a track from a run on; stops early where nothing differs any more among the
 * last `same` runs. What it found is in the board's `swept`.
 */
export function sweep(board: Board, t: number, from: number, same: number): void {
	const { model, massKg, keptKg } = board;
	const track = model.tracks[t]!;
	const [lane, trial, found] = [board.lanes[t]!, board.trials[t]!, board.swept[t]!];
	const own = t * model.kinds;
	const shift = lane.length - trial.length;
	lookAhead(board, trial, from);
	at.stop = from > 0 ? lane.stopAt[from]! : 0;
	at.endMs = from > 0 ? lane.endMs[from]! : track.firstEndMs;
	at.cls = from > 0 ? lane.classAt[from]! : track.firstClass;
	let delta = 0;
	let p = from;
	let oldTo = lane.length;
	for (; p < trial.length; p += 1) {
		const old = p + shift;
		if (
			trial.length - p <= same &&
			lane.endMs[old] === at.endMs &&
			lane.stopAt[old] === at.stop &&
			lane.classAt[old] === at.cls &&
			(board.moved === 0 || nobodyAheadMinds(board))
		) {
			oldTo = old;
			break;
		}
		noteState(trial, p);
		placeRun(board, track, trial, p);
		delta += trial.cost[p]! + massKg[own + trial.kinds[p]!]! * trial.kgCost[p]!;
	}
	let tail = lane.tail;
	if (p === trial.length) {
		noteState(trial, p);
		tail = crossings(model, track, at.stop, track.stops.length, at.endMs, at.cls);
		oldTo = lane.length;
	}
	for (let q = from; q < oldTo; q += 1)
		delta -= lane.cost[q]! + keptKg[own + lane.kinds[q]!]! * lane.kgCost[q]!;
	found.delta = delta + tail - lane.tail;
	found.from = from;
	found.to = p;
	found.oldTo = oldTo;
	found.tail = tail;
}

/** Where a sweep stands: one object, since it is read millions of times. */
const at = { stop: 0, endMs: 0, cls: 0 };

function noteState(lane: Lane, p: number): void {
	lane.stopAt[p] = at.stop;
	lane.endMs[p] = at.endMs;
	lane.classAt[p] = at.cls;
}

/** Places a run of a lane where the sweep stands, and moves on to its end. */
function placeRun(board: Board, track: Track, lane: Lane, p: number): void {
	const { model } = board;
	const kind = lane.kinds[p]!;
	let [cost, kgCost] = [0, 0];
	for (let left = lane.counts[p]!; left > 0;) {
		place(board, track, kind, at.stop, at.endMs, at.cls);
		if (model.isSingle[kind] === 1) settle(board, kind);
		if (placed.stop < 0) {
			kgCost += left * model.unplacedCost[kind]!;
			break;
		}
		cost += placed.cost + crossings(model, track, at.stop, placed.stop, at.endMs, at.cls);
		at.stop = placed.stop;
		at.endMs = placed.endMs;
		at.cls = model.classOf[kind]!;
		const more = left > 1 ? extend(board, track, kind, left - 1) : 0;
		kgCost += latenessOf(model, kind, placed.endMs, more + 1, extended.strideMs);
		if (more > 0) {
			cost += extended.cost;
			at.endMs = extended.endMs;
		}
		left -= more + 1;
	}
	lane.cost[p] = cost;
	lane.kgCost[p] = kgCost;
}

/** What further batches of a run come to, right after the one last placed. */
const extended = { endMs: 0, strideMs: 0, cost: 0 };

/** How many more batches of the kind last placed follow it in its stop, at most so many. */
function extend(board: Board, track: Track, kind: number, most: number): number {
	const { model } = board;
	const own = model.classOf[kind]!;
	const same = own * model.classes + own;
	const stop = track.stops[placed.stop]!;
	let limitMs = limitOf(board, stop);
	if (stop.nextLock >= 0 && stop.isNextHere) {
		const next = track.stops[stop.nextLock]!;
		const neededMs = track.setupMs[own * model.classes + next.lockClass]!;
		limitMs = Math.min(limitMs, next.startMs - neededMs);
	}
	extended.strideMs = track.setupMs[same]! + track.lastsMs[kind]!;
	const more = Math.min(most, Math.floor((limitMs - placed.endMs) / extended.strideMs));
	extended.endMs = placed.endMs + more * extended.strideMs;
	extended.cost = more * (track.batchCost[kind]! + track.setupCost[same]!);
	if (extended.endMs > stop.regularEndMs) {
		const fromMs = Math.max(stop.regularEndMs, placed.endMs);
		extended.cost += (extended.endMs - fromMs) * model.overtimeMsCost;
	}
	return more;
}

/** Marks the kinds that others wait for and that come later in this sweep. */
function lookAhead(board: Board, trial: Lane, from: number): void {
	board.sweep += 1;
	for (let p = from; p < trial.length; p += 1) board.aheadIn[trial.kinds[p]!] = board.sweep;
}

/** Notes where a single kind now stands, for those that wait for it. */
function settle(board: Board, kind: number): void {
	board.aheadIn[kind] = 0;
	const endMs = placed.stop < 0 ? Infinity : placed.endMs;
	const freeFrom = placed.stop >= 0 && placed.isFree ? placed.startMs : -Infinity;
	const was = board.endOf[kind]!;
	if (was === endMs && board.freeFrom[kind] === freeFrom) return;
	const kept = board.keptEndOf[kind]!;
	board.moved += Number(endMs !== kept) - Number(was !== kept);
	board.endOf[kind] = endMs;
	board.freeFrom[kind] = freeFrom;
	board.touched.push(kind);
}

/** Whether the kinds still ahead that wait for moved ones stand where they would without waiting. */
function nobodyAheadMinds(board: Board): boolean {
	const { touched, followers, aheadIn, endOf, keptEndOf, freeFrom, model } = board;
	for (const kind of touched) {
		if (endOf[kind] === keptEndOf[kind]) continue;
		for (const other of followers[kind]!)
			if (aheadIn[other] === board.sweep && endOf[kind]! + model.lagMs > freeFrom[other]!)
				return false;
	}
	return true;
}

/** What a kilogram of each of so many batches costs for being late; the first ends at the given moment. */
function latenessOf(
	model: SearchModel,
	kind: number,
	firstEndMs: number,
	count: number,
	strideMs: number
): number {
	const earlyMs = model.dueMs[kind]! - firstEndMs;
	const onTime = earlyMs < 0 ? 0 : count === 1 ? 1 : Math.floor(earlyMs / strideMs) + 1;
	if (onTime >= count) return 0;
	const late = count - onTime;
	const lateMs = late * (((onTime + count - 1) / 2) * strideMs - earlyMs);
	return late * model.lateCost[kind]! + lateMs * model.lateMsCost[kind]!;
}

/** The place last found; one object, since it is asked for millions of times. `stop` is -1 for none. */
export const placed = { stop: -1, startMs: 0, endMs: 0, cost: 0, isFree: true };

/** Finds the earliest place for a batch from a stop on; the answer is in `placed`. */
export function place(
	board: Board,
	track: Track,
	kind: number,
	fromStop: number,
	fromEndMs: number,
	fromClass: number
): void {
	const { model } = board;
	placed.stop = -1;
	placed.isFree = true;
	const before = model.after[kind]!;
	let notBeforeMs = model.notBeforeMs[kind]!;
	if (before >= 0) {
		if (board.aheadIn[before] === board.sweep) return;
		notBeforeMs = Math.max(notBeforeMs, board.endOf[before]! + model.lagMs);
	}
	if (notBeforeMs === Infinity) return;
	const lastsMs = track.lastsMs[kind]!;
	const own = model.classOf[kind]!;
	let [endMs, cls] = [fromEndMs, fromClass];
	const { stops } = track;
	for (let g = fromStop; g < stops.length; g += 1) {
		const stop = stops[g]!;
		if (stop.isLock) {
			[endMs, cls] = [stop.endMs, stop.lockClass];
			continue;
		}
		const limitMs = limitOf(board, stop);
		if (notBeforeMs + lastsMs > limitMs) {
			placed.isFree = false;
			continue;
		}
		const isCold = endMs <= stop.shiftStartMs;
		const change = cls * model.classes + own;
		const readyMs =
			Math.max(stop.startMs, endMs) + track.setupMs[change]! + (isCold ? track.warmUpMs : 0);
		let startMs = readyMs;
		if (readyMs < notBeforeMs) {
			startMs = notBeforeMs;
			placed.isFree = false;
		}
		if (model.needsPresence[kind] === 1) startMs = whenPresent(model, startMs, lastsMs);
		const ownEndMs = startMs + lastsMs;
		if (ownEndMs > limitMs) continue;
		if (stop.nextLock >= 0 && !leavesRoom(model, track, stop, cls, own, ownEndMs)) continue;
		placed.stop = g;
		placed.startMs = startMs;
		placed.endMs = ownEndMs;
		placed.cost =
			track.batchCost[kind]! + track.setupCost[change]! + (isCold ? track.warmUpCost : 0);
		if (ownEndMs > stop.regularEndMs)
			placed.cost += (ownEndMs - Math.max(stop.regularEndMs, endMs)) * model.overtimeMsCost;
		return;
	}
}

/** The latest end of a batch in a free stretch. */
function limitOf({ hours }: Board, stop: Stop): number {
	const used = hours[stop.window]!;
	if (used === HOURS.all || stop.endMs <= stop.regularEndMs)
		return used === HOURS.none ? -Infinity : stop.endMs;
	return used === HOURS.none ? -Infinity : stop.regularEndMs;
}

function whenPresent({ presences }: SearchModel, startMs: number, lastsMs: number): number {
	for (const { startMs: fromMs, endMs } of presences) {
		const there = fromMs > startMs ? fromMs : startMs;
		if (there + lastsMs <= endMs) return there;
	}
	return Infinity;
}

/** Whether the next slot that stays keeps its setups. */
function leavesRoom(
	model: SearchModel,
	track: Track,
	stop: Stop,
	before: number,
	own: number,
	endMs: number
): boolean {
	const next = track.stops[stop.nextLock]!;
	const neededMs = track.setupMs[own * model.classes + next.lockClass]!;
	if (stop.isNextHere) return endMs + neededMs <= next.startMs;
	if (neededMs <= track.setupMs[before * model.classes + next.lockClass]!) return true;
	const warmUpMs = endMs > next.shiftStartMs ? 0 : track.warmUpMs;
	return stop.openMs + warmUpMs + neededMs <= next.startMs;
}

/** What the slots that stay between two stops cost: their own, and their setups after what came before. */
function crossings(
	model: SearchModel,
	track: Track,
	fromStop: number,
	toStop: number,
	fromEndMs: number,
	fromClass: number
): number {
	let cost = 0;
	let [endMs, cls] = [fromEndMs, fromClass];
	for (let g = fromStop; g < toStop; g += 1) {
		const stop = track.stops[g]!;
		if (!stop.isLock) continue;
		if (stop.counts) {
			cost += stop.lockCost + track.setupCost[cls * model.classes + stop.lockClass]!;
			if (endMs <= stop.shiftStartMs) cost += track.warmUpCost;
			if (stop.endMs > stop.regularEndMs)
				cost += (stop.endMs - Math.max(stop.regularEndMs, endMs)) * model.overtimeMsCost;
		}
		[endMs, cls] = [stop.endMs, stop.lockClass];
	}
	return cost;
}

/** Makes what the last sweep of a track found the lane as it is. */
export function keepSwept(board: Board, t: number): void {
	const [lane, trial] = [board.lanes[t]!, board.trials[t]!];
	const { from, to, oldTo, tail } = board.swept[t]!;
	const end = lane.length;
	if (to !== oldTo && oldTo < end) {
		lane.cost.copyWithin(to, oldTo, end);
		lane.kgCost.copyWithin(to, oldTo, end);
		lane.stopAt.copyWithin(to, oldTo, end + 1);
		lane.endMs.copyWithin(to, oldTo, end + 1);
		lane.classAt.copyWithin(to, oldTo, end + 1);
	}
	// Where the sweep reached the end, what it knew after the last run counts too.
	const upTo = oldTo === end ? to + 1 : to;
	for (let p = from; p < upTo; p += 1) {
		lane.stopAt[p] = trial.stopAt[p]!;
		lane.endMs[p] = trial.endMs[p]!;
		lane.classAt[p] = trial.classAt[p]!;
		lane.cost[p] = trial.cost[p]!;
		lane.kgCost[p] = trial.kgCost[p]!;
	}
	for (let p = from; p < trial.length; p += 1) {
		lane.kinds[p] = trial.kinds[p]!;
		lane.counts[p] = trial.counts[p]!;
	}
	lane.length = trial.length;
	lane.tail = tail;
}

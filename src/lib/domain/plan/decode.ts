import type { SearchModel, Solution, Stop, Track } from './model.ts';

/**
 * When the batches of a sequence start, and what that costs. Each batch takes the earliest place after
 * the one before it, so one sweep over the track does; after a change only the stretch between the first
 * batch that differs and the point where everything is as before is swept again. Rules are those of
 * dispatch.ts 5 and 6.
 */

/** A track's sequence with what the sweep knew before each batch, and the cost of each. */
export interface Lane {
	length: number;
	readonly kinds: Int32Array;
	readonly stopAt: Int32Array;
	readonly endMs: Float64Array;
	readonly classAt: Int32Array;
	readonly cost: Float64Array;
	/** Cost of the slots that stay after the last batch. */
	tail: number;
}

/** The stretch of a lane that a sweep went over. */
export interface Swept {
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
	/** Kilograms of each batch by track * kinds + kind; 1 for a single one. */
	readonly massKg: Float64Array;
	readonly overtime: Uint8Array;
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
		stopAt: new Int32Array(capacity + 1),
		endMs: new Float64Array(capacity + 1),
		classAt: new Int32Array(capacity + 1),
		cost: new Float64Array(capacity),
		tail: 0
	};
}

/** A board with a solution on it, swept throughout. */
export function boardOf(
	model: SearchModel,
	{ sequences, overtime }: Solution,
	spare: number
): Board {
	const most = sequences.reduce((sum, own) => sum + own.length, 0) + spare;
	const board: Board = {
		model,
		lanes: model.tracks.map(() => emptyLane(most)),
		trials: model.tracks.map(() => emptyLane(most)),
		massKg: new Float64Array(model.tracks.length * model.kinds),
		overtime: Uint8Array.from(overtime, Number),
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
	sequences.forEach((own, t) => {
		board.lanes[t]!.kinds.set(own);
		board.lanes[t]!.length = own.length;
	});
	return board;
}

function followersOf({ after }: SearchModel, kind: number): readonly number[] {
	return Array.from(after.keys()).filter((other) => after[other] === kind);
}

/**
 * Sweeps the trial lane of a track from a place on; stops early where nothing differs any more among the
 * last `same` batches. Gives what it costs more than the lane as it is.
 */
export function sweep(board: Board, t: number, from: number, same: number): Swept {
	const { model } = board;
	const track = model.tracks[t]!;
	const [lane, trial] = [board.lanes[t]!, board.trials[t]!];
	const shift = lane.length - trial.length;
	lookAhead(board, trial, from);
	let [stop, endMs, cls] = [0, track.firstEndMs, track.firstClass];
	if (from > 0) [stop, endMs, cls] = [lane.stopAt[from]!, lane.endMs[from]!, lane.classAt[from]!];
	let delta = 0;
	let p = from;
	for (; p < trial.length; p += 1) {
		const old = p + shift;
		if (
			trial.length - p <= same &&
			lane.endMs[old] === endMs &&
			lane.stopAt[old] === stop &&
			lane.classAt[old] === cls &&
			(board.moved === 0 || nobodyAheadMinds(board))
		) {
			for (let q = from; q < old; q += 1) delta -= lane.cost[q]!;
			return { delta, from, to: p, oldTo: old, tail: lane.tail };
		}
		trial.stopAt[p] = stop;
		trial.endMs[p] = endMs;
		trial.classAt[p] = cls;
		const kind = trial.kinds[p]!;
		place(board, track, kind, stop, endMs, cls);
		if (model.isSingle[kind] === 1) settle(board, kind);
		let cost: number;
		if (placed.stop < 0) cost = board.massKg[t * model.kinds + kind]! * model.unplacedCost[kind]!;
		else {
			cost = placed.cost + crossings(model, track, stop, placed.stop, endMs, cls);
			cost += board.massKg[t * model.kinds + kind]! * latenessOf(model, kind, placed.endMs);
			[stop, endMs, cls] = [placed.stop, placed.endMs, model.classOf[kind]!];
		}
		trial.cost[p] = cost;
		delta += cost;
	}
	trial.stopAt[p] = stop;
	trial.endMs[p] = endMs;
	trial.classAt[p] = cls;
	const tail = crossings(model, track, stop, track.stops.length, endMs, cls);
	for (let q = from; q < lane.length; q += 1) delta -= lane.cost[q]!;
	return { delta: delta + tail - lane.tail, from, to: p, oldTo: lane.length, tail };
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

/** What a kilogram (or a test) that ends then costs for being late. */
function latenessOf(model: SearchModel, kind: number, endMs: number): number {
	const lateMs = endMs - model.dueMs[kind]!;
	return lateMs > 0 ? model.lateCost[kind]! + model.lateMsCost[kind]! * lateMs : 0;
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
		const limitMs =
			board.overtime[stop.window] === 1 ? stop.endMs : Math.min(stop.endMs, stop.regularEndMs);
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

/** Makes what a sweep found the lane as it is. */
export function keepSwept(board: Board, t: number, { from, to, oldTo, tail }: Swept): void {
	const [lane, trial] = [board.lanes[t]!, board.trials[t]!];
	const end = lane.length;
	if (to !== oldTo && oldTo < end) {
		lane.cost.copyWithin(to, oldTo, end);
		lane.stopAt.copyWithin(to, oldTo, end + 1);
		lane.endMs.copyWithin(to, oldTo, end + 1);
		lane.classAt.copyWithin(to, oldTo, end + 1);
	}
	// Where the sweep reached the end, what it knew after the last batch counts too.
	const upTo = oldTo === end ? to + 1 : to;
	for (let p = from; p < upTo; p += 1) {
		lane.stopAt[p] = trial.stopAt[p]!;
		lane.endMs[p] = trial.endMs[p]!;
		lane.classAt[p] = trial.classAt[p]!;
		lane.cost[p] = trial.cost[p]!;
	}
	for (let p = from; p < trial.length; p += 1) lane.kinds[p] = trial.kinds[p]!;
	lane.length = trial.length;
	lane.tail = tail;
}

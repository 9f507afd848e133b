import type { Board, Lane } from './decode.ts';

/**
 * The changes that the search tries. Each writes the changed sequences into the board's trial lanes and
 * says what it touched; nothing is decided here.
 * 1. A block goes elsewhere on its track, where it can beside a batch of its setup class.
 * 2. Two blocks of a track change places.
 * 3. Batches of a kind go from one track to another, as many there as hold what they held.
 * 4. Runs of two kinds change tracks.
 * 5. A kind gets one batch more or one less on a track.
 * 6. A window uses its overtime or stops using it.
 * A block is a run of one kind, a run of one setup class, or a few batches.
 */
export interface Draft {
	readonly board: Board;
	/** Batches by track * kinds + kind, under the move. */
	readonly counts: Int32Array;
	/** Tracks that the move touches. */
	readonly tracks: number[];
	/** Kinds whose batches it counts anew; their old counts can be had from the lanes. */
	readonly recounted: number[];
	/** Window whose overtime it turned over; -1 for none. */
	flipped: number;
	readonly pick: (count: number) => number;
	/** Windows that have overtime, with their track. */
	readonly overtimeWindows: readonly { readonly window: number; readonly track: number }[];
	readonly buffer: Int32Array;
}

/** Tries one change; false where none came about. */
export function draw(draft: Draft): boolean {
	const { tracks } = draft.board.model;
	const dice = draft.pick(100);
	if (draft.overtimeWindows.length > 0 && dice < 3) return flipOvertime(draft);
	if (tracks.length === 1 || dice < 50) {
		const t = busyTrack(draft);
		if (t < 0) return false;
		if (dice >= 90) return recount(draft, t);
		return dice % 3 === 0 ? swapBlocks(draft, t) : moveBlock(draft, t);
	}
	if (dice < 56) return recount(draft, busyTrack(draft));
	return dice < 82 ? transfer(draft) : exchange(draft);
}

function busyTrack({ board, pick }: Draft): number {
	const first = pick(board.lanes.length);
	for (let i = 0; i < board.lanes.length; i += 1) {
		const t = (first + i) % board.lanes.length;
		if (board.lanes[t]!.length > 0) return t;
	}
	return -1;
}

/** The trial lane of a track, the same as the lane the first time that a move asks for it. */
function trialOf({ board, tracks }: Draft, t: number): Lane {
	const trial = board.trials[t]!;
	if (tracks.includes(t)) return trial;
	const lane = board.lanes[t]!;
	for (let i = 0; i < lane.length; i += 1) trial.kinds[i] = lane.kinds[i]!;
	trial.length = lane.length;
	tracks.push(t);
	return trial;
}

/** First and past-the-last place of a block around or from a batch. */
function blockAt({ board, pick }: Draft, lane: Lane, at: number): readonly [number, number] {
	const { classOf } = board.model;
	const kind = lane.kinds[at]!;
	const dice = pick(8);
	let [from, to] = [at, at + 1];
	if (dice < 4) {
		while (from > 0 && lane.kinds[from - 1] === kind) from -= 1;
		while (to < lane.length && lane.kinds[to] === kind) to += 1;
	} else if (dice === 4) {
		const cls = classOf[kind];
		while (from > 0 && classOf[lane.kinds[from - 1]!] === cls) from -= 1;
		while (to < lane.length && classOf[lane.kinds[to]!] === cls) to += 1;
	} else if (dice < 7) to = Math.min(lane.length, at + 1 + pick(6));
	return [from, to];
}

function moveBlock(draft: Draft, t: number): boolean {
	const trial = trialOf(draft, t);
	const [from, to] = blockAt(draft, trial, draft.pick(trial.length));
	const cls = draft.board.model.classOf[trial.kinds[from]!]!;
	const count = lift(draft, trial, from, to);
	if (trial.length === 0) return false;
	const at = draft.pick(2) === 0 ? besideClass(draft, trial, cls) : draft.pick(trial.length + 1);
	if (at === from) return false;
	drop(draft, trial, at, count);
	return true;
}

function swapBlocks(draft: Draft, t: number): boolean {
	const trial = trialOf(draft, t);
	const [a, b] = blockAt(draft, trial, draft.pick(trial.length));
	const [c, d] = blockAt(draft, trial, draft.pick(trial.length));
	const [from, mid, late, to] = a < c ? [a, b, c, d] : [c, d, a, b];
	if (mid > late) return false;
	const { buffer } = draft;
	let n = 0;
	for (let p = late; p < to; p += 1) buffer[n++] = trial.kinds[p]!;
	for (let p = mid; p < late; p += 1) buffer[n++] = trial.kinds[p]!;
	for (let p = from; p < mid; p += 1) buffer[n++] = trial.kinds[p]!;
	for (let i = 0; i < n; i += 1) trial.kinds[from + i] = buffer[i]!;
	return true;
}

/** Takes a block out of a trial lane into the buffer; gives its length. */
function lift({ buffer }: Draft, trial: Lane, from: number, to: number): number {
	for (let p = from; p < to; p += 1) buffer[p - from] = trial.kinds[p]!;
	trial.kinds.copyWithin(from, to, trial.length);
	trial.length -= to - from;
	return to - from;
}

function drop({ buffer }: Draft, trial: Lane, at: number, count: number): void {
	trial.kinds.copyWithin(at + count, at, trial.length);
	for (let i = 0; i < count; i += 1) trial.kinds[at + i] = buffer[i]!;
	trial.length += count;
}

/** A place before or after a batch of a setup class, sought from a random batch on. */
function besideClass({ board, pick }: Draft, trial: Lane, cls: number): number {
	const { classOf } = board.model;
	const first = pick(trial.length);
	for (let i = 0; i < trial.length; i += 1) {
		const p = (first + i) % trial.length;
		if (classOf[trial.kinds[p]!] === cls) return p + pick(2);
	}
	return first;
}

/** A place for batches of a kind: beside others of it, else of its class. */
function placeFor(draft: Draft, trial: Lane, kind: number): number {
	if (trial.length === 0) return 0;
	const dice = draft.pick(4);
	if (dice === 0) return draft.pick(trial.length + 1);
	if (dice < 3) {
		const first = draft.pick(trial.length);
		for (let i = 0; i < trial.length; i += 1) {
			const p = (first + i) % trial.length;
			if (trial.kinds[p] === kind) return p;
		}
	}
	return besideClass(draft, trial, draft.board.model.classOf[kind]!);
}

/** Moves some of a kind's batches to another track, as few there as keep what can be held. */
function transfer(draft: Draft): boolean {
	const { board, pick } = draft;
	const t = busyTrack(draft);
	if (t < 0) return false;
	const lane = board.lanes[t]!;
	return carry(draft, t, pick(lane.length), otherTrack(draft, t), -1);
}

function otherTrack({ board, pick }: Draft, t: number): number {
	return (t + 1 + pick(board.lanes.length - 1)) % board.lanes.length;
}

/** Takes the run at a place, or part of it, to another track; to a place there, or one that suits it. */
function carry(draft: Draft, t: number, at: number, to: number, place: number): boolean {
	const { board, pick, counts } = draft;
	const { model } = board;
	const trial = trialOf(draft, t);
	const kind = trial.kinds[at]!;
	if (model.tracks[to]!.takes[kind] === 0) return false;
	let [from, end] = [at, at + 1];
	if (pick(3) > 0) {
		while (from > 0 && trial.kinds[from - 1] === kind) from -= 1;
		while (end < trial.length && trial.kinds[end] === kind) end += 1;
		if (pick(3) === 0) end = from + 1 + pick(end - from);
	}
	const many = end - from;
	lift(draft, trial, from, end);
	counts[t * model.kinds + kind]! -= many;
	const more =
		model.isSingle[kind] === 1 ? many : batchesFor(draft, kind, to, many * model.tracks[t]!.maxG);
	counts[to * model.kinds + kind]! += more;
	if (!draft.recounted.includes(kind)) draft.recounted.push(kind);
	const target = trialOf(draft, to);
	if (target.length + more > target.kinds.length) return false;
	const where = place < 0 ? placeFor(draft, target, kind) : Math.min(place, target.length);
	draft.buffer.fill(kind, 0, more);
	drop(draft, target, where, more);
	return true;
}

/** As few batches on a track as hold what the others of the kind do not, at most what was taken away. */
function batchesFor({ board, counts }: Draft, kind: number, to: number, takenG: number): number {
	const { model } = board;
	let openG = model.massG[kind]!;
	model.tracks.forEach((track, t) => (openG -= counts[t * model.kinds + kind]! * track.maxG));
	return Math.max(0, Math.ceil(Math.min(openG, takenG) / model.tracks[to]!.maxG));
}

/** Two runs change tracks, each to where the other was. */
function exchange(draft: Draft): boolean {
	const { board, pick } = draft;
	const t = busyTrack(draft);
	if (t < 0) return false;
	const to = otherTrack(draft, t);
	if (board.lanes[to]!.length === 0) return false;
	const at = pick(board.lanes[t]!.length);
	const back = pick(board.lanes[to]!.length);
	const kind = board.lanes[to]!.kinds[back]!;
	if (!carry(draft, t, at, to, back)) return false;
	const target = trialOf(draft, to);
	for (let p = 0; p < target.length; p += 1) {
		const q = (back + p) % target.length;
		if (target.kinds[q] === kind) return carry(draft, to, q, t, at);
	}
	return false;
}

/** One batch more of a kind on a track, or one less. */
function recount(draft: Draft, t: number): boolean {
	if (t < 0) return false;
	const { board, pick, counts } = draft;
	const { model } = board;
	const trial = trialOf(draft, t);
	const isLess = pick(2) === 0;
	const at = pick(trial.length);
	const kind = isLess ? trial.kinds[at]! : pick(model.kinds);
	if (model.isSingle[kind] === 1 || model.tracks[t]!.takes[kind] === 0) return false;
	if (!isLess && trial.length === trial.kinds.length) return false;
	counts[t * model.kinds + kind]! += isLess ? -1 : 1;
	draft.recounted.push(kind);
	if (isLess) lift(draft, trial, at, at + 1);
	else {
		draft.buffer[0] = kind;
		drop(draft, trial, placeFor(draft, trial, kind), 1);
	}
	return true;
}

function flipOvertime(draft: Draft): boolean {
	const { board, overtimeWindows, pick } = draft;
	const { window, track } = overtimeWindows[pick(overtimeWindows.length)]!;
	draft.flipped = window;
	board.overtime[window] = 1 - board.overtime[window]!;
	trialOf(draft, track);
	return true;
}

import type { Board, Lane } from './decode.ts';
import { HOURS } from './model.ts';

/**
 * The changes that the search tries. Each writes the changed runs into the board's trial lanes and says
 * what it touched; nothing is decided here.
 * 1. A block goes elsewhere on its track, where it can beside a batch of its setup class.
 * 2. Two blocks of a track change places.
 * 3. A block goes from one track to another, in as many batches there as hold what they held.
 * 4. Runs of two kinds change tracks.
 * 5. A kind gets one batch more or one less on a track.
 * 6. A window uses its overtime or stops using it; a shift or a window is left unused or used again.
 * A block is a run, a part of one, the runs of one setup class in a row, or a few runs.
 */
export interface Draft {
	readonly board: Board;
	/** Batches by track * kinds + kind, under the move. */
	readonly counts: Int32Array;
	/** The same without the move. */
	readonly keptCounts: Int32Array;
	/** Tracks that the move touches. */
	readonly tracks: number[];
	/** Kinds whose batches it counts anew. */
	readonly recounted: number[];
	/** Windows of which it uses more or less. */
	readonly rehoured: number[];
	/** What was used of each window without the move. */
	readonly keptHours: Uint8Array;
	readonly pick: (count: number) => number;
	/** The windows that have free stretches, with their track. */
	readonly windows: readonly TrackWindow[];
	/** The runs that were lifted off a lane. */
	readonly lifted: Lane;
}

export interface TrackWindow {
	readonly window: number;
	readonly track: number;
	readonly shiftStartMs: number;
}

/** Tries one change; false where none came about. */
export function draw(draft: Draft): boolean {
	const { tracks } = draft.board.model;
	const dice = draft.pick(100);
	if (draft.windows.length > 0 && dice < 4) return changeHours(draft);
	const t = busyTrack(draft);
	if (t < 0) return false;
	if (dice < 9) return recount(draft, t);
	if (tracks.length === 1 || dice < 53)
		return dice % 3 === 0 ? swapBlocks(draft, t) : moveBlock(draft, t);
	return dice < 82 ? transfer(draft, t) : exchange(draft, t);
}

function busyTrack({ board, pick }: Draft): number {
	const first = pick(board.lanes.length);
	for (let i = 0; i < board.lanes.length; i += 1) {
		const t = (first + i) % board.lanes.length;
		if (board.lanes[t]!.length > 0) return t;
	}
	return -1;
}

function otherTrack({ board, pick }: Draft, t: number): number {
	return (t + 1 + pick(board.lanes.length - 1)) % board.lanes.length;
}

/** The trial lane of a track, the same as the lane the first time that a move asks for it. */
export function trialOf({ board, tracks }: Draft, t: number): Lane {
	const trial = board.trials[t]!;
	if (tracks.includes(t)) return trial;
	copyRuns(board.lanes[t]!, trial);
	tracks.push(t);
	return trial;
}

function copyRuns(lane: Lane, to: Lane): void {
	for (let p = 0; p < lane.length; p += 1) {
		to.kinds[p] = lane.kinds[p]!;
		to.counts[p] = lane.counts[p]!;
	}
	to.length = lane.length;
}

/** Drops runs without batches and makes one of neighbours of the same kind. */
export function tidy(lane: Lane): void {
	const { kinds, counts, length } = lane;
	let n = 0;
	for (let p = 0; p < length; p += 1) {
		if (counts[p] === 0) continue;
		if (n > 0 && kinds[n - 1] === kinds[p]) counts[n - 1]! += counts[p]!;
		else {
			kinds[n] = kinds[p]!;
			counts[n] = counts[p]!;
			n += 1;
		}
	}
	lane.length = n;
}

/** The block last chosen: first and past-the-last run. */
const block = { from: 0, to: 0 };

/** Chooses a block around or from a run; a part of a run is made a run of its own. */
function chooseBlock({ board, pick }: Draft, lane: Lane): void {
	const { classOf } = board.model;
	const at = pick(lane.length);
	const dice = pick(8);
	block.from = at;
	block.to = at + 1;
	if (dice < 3 && lane.counts[at]! > 1) {
		const size = 1 + pick(lane.counts[at]! - 1);
		const isLate = pick(2);
		split(lane, at, isLate === 1 ? lane.counts[at]! - size : size);
		block.from += isLate;
		block.to += isLate;
	} else if (dice === 6) {
		const cls = classOf[lane.kinds[at]!];
		while (block.from > 0 && classOf[lane.kinds[block.from - 1]!] === cls) block.from -= 1;
		while (block.to < lane.length && classOf[lane.kinds[block.to]!] === cls) block.to += 1;
	} else if (dice === 7) block.to = Math.min(lane.length, at + 1 + pick(4));
}

/** Makes the first so many batches of a run a run of their own. */
function split(lane: Lane, at: number, first: number): void {
	insert(lane, at, lane.kinds[at]!, first);
	lane.counts[at + 1]! -= first;
}

function insert(lane: Lane, at: number, kind: number, count: number): void {
	lane.kinds.copyWithin(at + 1, at, lane.length);
	lane.counts.copyWithin(at + 1, at, lane.length);
	lane.kinds[at] = kind;
	lane.counts[at] = count;
	lane.length += 1;
}

function moveBlock(draft: Draft, t: number): boolean {
	const trial = trialOf(draft, t);
	chooseBlock(draft, trial);
	const { from, to } = block;
	lift(draft, trial, from, to);
	if (trial.length === 0) return false;
	const at = placeFor(draft, trial, draft.lifted.kinds[0]!);
	if (at === from) return false;
	drop(draft, trial, at);
	return true;
}

function swapBlocks(draft: Draft, t: number): boolean {
	const trial = trialOf(draft, t);
	chooseBlock(draft, trial);
	const [a, b] = [block.from, block.to];
	const length = trial.length;
	chooseBlock(draft, trial);
	const [c, d] = [block.from, block.to];
	// The second choice may have split a run before the end of the first block.
	if (trial.length !== length && c < b) return false;
	if (c < b && a < d) return false;
	const [from, mid, late, to] = a < c ? [a, b, c, d] : [c, d, a, b];
	const { lifted } = draft;
	lifted.length = 0;
	copyTo(lifted, trial, late, to);
	copyTo(lifted, trial, mid, late);
	copyTo(lifted, trial, from, mid);
	trial.length -= to - from;
	trial.kinds.copyWithin(from, to, trial.length + to - from);
	trial.counts.copyWithin(from, to, trial.length + to - from);
	drop(draft, trial, from);
	return true;
}

function copyTo(target: Lane, lane: Lane, from: number, to: number): void {
	for (let p = from; p < to; p += 1) {
		target.kinds[target.length] = lane.kinds[p]!;
		target.counts[target.length] = lane.counts[p]!;
		target.length += 1;
	}
}

/** Takes runs out of a trial lane. */
function lift({ lifted }: Draft, lane: Lane, from: number, to: number): void {
	lifted.length = 0;
	copyTo(lifted, lane, from, to);
	lane.kinds.copyWithin(from, to, lane.length);
	lane.counts.copyWithin(from, to, lane.length);
	lane.length -= to - from;
}

/** Puts the lifted runs into a trial lane. */
function drop({ lifted }: Draft, lane: Lane, at: number): void {
	const { kinds, counts } = lane;
	kinds.copyWithin(at + lifted.length, at, lane.length);
	counts.copyWithin(at + lifted.length, at, lane.length);
	for (let i = 0; i < lifted.length; i += 1) {
		kinds[at + i] = lifted.kinds[i]!;
		counts[at + i] = lifted.counts[i]!;
	}
	lane.length += lifted.length;
}

/** Where batches of a kind may go: anywhere, a run split for it; or beside others of it or of its class. */
function placeFor({ board, pick }: Draft, trial: Lane, kind: number): number {
	if (trial.length === 0) return 0;
	const first = pick(trial.length);
	const dice = pick(4);
	if (dice === 0) {
		const count = trial.counts[first]!;
		const before = pick(count + 1);
		if (before === 0) return first;
		if (before < count) split(trial, first, before);
		return first + 1;
	}
	const { classOf } = board.model;
	if (dice < 3)
		for (let p = 0; p < trial.length; p += 1) if (trial.kinds[p] === kind) return p + pick(2);
	for (let i = 0; i < trial.length; i += 1) {
		const p = (first + i) % trial.length;
		if (classOf[trial.kinds[p]!] === classOf[kind]) return p + pick(2);
	}
	return first;
}

/** Takes a block to another track, in as many batches there as keep what can be held. */
function transfer(draft: Draft, t: number): boolean {
	const { board } = draft;
	const to = otherTrack(draft, t);
	const trial = trialOf(draft, t);
	chooseBlock(draft, trial);
	const { from } = block;
	const { takes } = board.model.tracks[to]!;
	for (let p = from; p < block.to; p += 1) if (takes[trial.kinds[p]!] === 0) return false;
	lift(draft, trial, from, block.to);
	const { kinds, counts, length } = draft.lifted;
	for (let i = 0; i < length; i += 1) counts[i] = carry(draft, kinds[i]!, counts[i]!, t, to);
	const target = trialOf(draft, to);
	drop(draft, target, placeFor(draft, target, kinds[0]!));
	return true;
}

/** Counts batches of a kind off one track and onto another; how many they are there. */
function carry(draft: Draft, kind: number, many: number, t: number, to: number): number {
	const { board, counts, recounted } = draft;
	const { kinds, isSingle, tracks } = board.model;
	counts[t * kinds + kind]! -= many;
	const more = isSingle[kind] === 1 ? many : batchesFor(draft, kind, to, many * tracks[t]!.maxG);
	counts[to * kinds + kind]! += more;
	if (!recounted.includes(kind)) recounted.push(kind);
	return more;
}

/** As few batches on a track as hold what the others of the kind do not, at most what was taken away. */
function batchesFor({ board, counts }: Draft, kind: number, to: number, takenG: number): number {
	const { kinds, massG, tracks } = board.model;
	let openG = massG[kind]!;
	for (let t = 0; t < tracks.length; t += 1) openG -= counts[t * kinds + kind]! * tracks[t]!.maxG;
	return Math.max(0, Math.ceil(Math.min(openG, takenG) / tracks[to]!.maxG));
}

/** Two runs, or parts of them, change tracks, each to where the other was. */
function exchange(draft: Draft, t: number): boolean {
	const { board, pick } = draft;
	const { tracks } = board.model;
	const to = otherTrack(draft, t);
	if (board.lanes[to]!.length === 0) return false;
	const [one, other] = [trialOf(draft, t), trialOf(draft, to)];
	const [p, q] = [pick(one.length), pick(other.length)];
	const [kind, back] = [one.kinds[p]!, other.kinds[q]!];
	if (kind === back || !tracks[to]!.takes[kind] || !tracks[t]!.takes[back]) return false;
	const many = pick(3) > 0 ? one.counts[p]! : 1 + pick(one.counts[p]!);
	const backs = pick(3) > 0 ? other.counts[q]! : 1 + pick(other.counts[q]!);
	one.counts[p]! -= many;
	other.counts[q]! -= backs;
	insert(other, q, kind, carry(draft, kind, many, t, to));
	insert(one, p, back, carry(draft, back, backs, to, t));
	return true;
}

/** One batch more of a kind on a track, or one less. */
function recount(draft: Draft, t: number): boolean {
	const { board, pick, counts } = draft;
	const { model } = board;
	const trial = trialOf(draft, t);
	const isLess = pick(2) === 0;
	const at = pick(trial.length);
	const kind = isLess ? trial.kinds[at]! : pick(model.kinds);
	if (model.isSingle[kind] === 1 || model.tracks[t]!.takes[kind] === 0) return false;
	counts[t * model.kinds + kind]! += isLess ? -1 : 1;
	draft.recounted.push(kind);
	if (isLess) trial.counts[at]! -= 1;
	else insert(trial, placeFor(draft, trial, kind), kind, 1);
	return true;
}

function changeHours(draft: Draft): boolean {
	const { board, windows, rehoured, pick } = draft;
	const { window, track, shiftStartMs } = windows[pick(windows.length)]!;
	const has = board.model.hasOvertime[window] === 1;
	const before = board.hours[window]!;
	const dice = pick(4);
	if (dice === 0 || (has && dice < 3 && before !== HOURS.none)) {
		if (!has && before !== HOURS.none) return false;
		rehoured.push(window);
		board.hours[window] = before === HOURS.regular ? HOURS.all : HOURS.regular;
	} else {
		const used = before === HOURS.none ? HOURS.regular : HOURS.none;
		const isWhole = pick(3) > 0;
		for (const one of windows)
			if (
				one.track === track &&
				(isWhole ? one.shiftStartMs === shiftStartMs : one.window === window)
			) {
				rehoured.push(one.window);
				board.hours[one.window] = used;
			}
	}
	trialOf(draft, track);
	return true;
}

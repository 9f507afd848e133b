import type { Presence } from './problem.ts';

/**
 * A planning problem as the search sees it: numbers in arrays. A *kind* is what one batch can be: a
 * production need, or a test. A *track* is a roaster's hours. A solution is a sequence of kinds for each
 * track; when each batch starts follows from the sequence alone (decode.ts). Instants and durations are
 * milliseconds, masses grams, costs roaster minutes. Class 0 is a clean roaster.
 */
export interface SearchModel {
	/** Number of kinds. */
	readonly kinds: number;
	/** Number of setup classes, the clean roaster included. */
	readonly classes: number;
	readonly classOf: Int32Array;
	readonly dueMs: Float64Array;
	readonly notBeforeMs: Float64Array;
	/** The kind that must have ended before; -1 for none. */
	readonly after: Int32Array;
	/** From the end of `after` to the earliest start. */
	readonly lagMs: number;
	/** Whether a batch of the kind must lie inside a presence. */
	readonly needsPresence: Uint8Array;
	readonly presences: readonly Presence[];
	/** Kinds of exactly one batch on a track of its own; the others may be split over tracks. */
	readonly isSingle: Uint8Array;
	/** Grams to be held by the batches of a kind; 1000 for a single one, which counts as 1. */
	readonly massG: Float64Array;
	/** Cost of being late at all, and for each millisecond late, by kilogram (by test for a single one). */
	readonly lateCost: Float64Array;
	readonly lateMsCost: Float64Array;
	readonly unplacedCost: Float64Array;
	readonly overtimeMsCost: number;
	/** Number of windows over all tracks, for the choice of hours in each. */
	readonly windows: number;
	/** Whether a window has overtime at all. */
	readonly hasOvertime: Uint8Array;
	readonly tracks: readonly Track[];
}

export interface Track {
	/** Whether a kind may run here. */
	readonly takes: Uint8Array;
	readonly lastsMs: Float64Array;
	readonly batchCost: Float64Array;
	readonly minG: number;
	readonly maxG: number;
	/** By earlier class * classes + later class. */
	readonly setupMs: Float64Array;
	readonly setupCost: Float64Array;
	readonly warmUpMs: number;
	readonly warmUpCost: number;
	readonly firstClass: number;
	readonly firstEndMs: number;
	readonly stops: readonly Stop[];
}

/** What a track is made of, in time order: free stretches, and slots that stay. */
export interface Stop {
	readonly isLock: boolean;
	readonly startMs: number;
	readonly endMs: number;
	readonly regularEndMs: number;
	/** -Infinity for a slot outside every window: it needs no warm-up. */
	readonly shiftStartMs: number;
	/** Number of the window, for its overtime; -1 for a slot outside every window. */
	readonly window: number;
	/** Class of a slot that stays. */
	readonly lockClass: number;
	/** What a slot that stays costs by itself: minutes, lateness. */
	readonly lockCost: number;
	/** Whether the setups of a slot that stays count. */
	readonly counts: boolean;
	/** The next slot that stays: its place among the stops, -1 for none. */
	readonly nextLock: number;
	/** Whether that one is in the same window; else its window opens for setups at `openMs`. */
	readonly isNextHere: boolean;
	readonly openMs: number;
}

/** How much of a window is used: nothing, for batches that would rather have another; its regular time; all. */
export const HOURS = { none: 0, regular: 1, all: 2 } as const;
export type Hours = (typeof HOURS)[keyof typeof HOURS];

/** Sequences of kinds by track, and what of each window they use. */
export interface Solution {
	readonly sequences: readonly (readonly number[])[];
	readonly hours: readonly Hours[];
}

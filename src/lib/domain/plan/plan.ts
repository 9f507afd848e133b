import type { InstantMs } from '../quantity/time.ts';
import type { BatchTraits, SlotFacts } from './problem.ts';

/** What a planner hands back: slots, what found no room, and the minutes of each roaster. */

export interface Setup {
	readonly kind: 'warm-up' | 'cleaning' | 'changeover';
	readonly minutes: number;
	readonly because: string;
}

export interface Slot extends SlotFacts {
	readonly traits: BatchTraits;
	readonly locked: boolean;
	/** What happens on the roaster before the slot starts, in order. */
	readonly setup: readonly Setup[];
	/** Reasons for its place, data first. */
	readonly why: readonly string[];
}

/** The smallest change found that makes an unplaced need fit while everything else stays. */
export type Change =
	| { readonly kind: 'change need'; readonly byG: number; readonly text: string }
	| { readonly kind: 'change charge'; readonly toG: number; readonly text: string }
	| {
			readonly kind: 'extend window';
			readonly roasterId: number;
			/** The end the window has now. */
			readonly endMs: InstantMs;
			readonly byMin: number;
			readonly text: string;
	  }
	| {
			readonly kind: 'add window';
			readonly roasterId: number;
			readonly minutes: number;
			/** Not before this, and apart from the roaster's other windows. */
			readonly fromMs: InstantMs;
			readonly text: string;
	  }
	| { readonly kind: 'place first'; readonly testBatchId: number; readonly text: string };

export interface Unplaced {
	readonly kind: 'production' | 'test';
	readonly lotId: number;
	readonly productId: number | null;
	readonly testBatchId: number | null;
	readonly dueMs: InstantMs;
	/** Green grams of the need without a slot. */
	readonly greenG: number;
	/** Data first. */
	readonly reason: readonly string[];
	/** Null when no single change was found. */
	readonly wouldFit: Change | null;
}

export interface RoasterMinutes {
	readonly roasterId: number;
	/** Minutes in windows from the start of the plan on. */
	readonly availableMin: number;
	readonly productionMin: number;
	readonly testMin: number;
	/** Warm-up, cleaning and changeover together. */
	readonly setupMin: number;
	/** Production, test and setup minutes of slots that start within the plan. */
	readonly usedMin: number;
}

export interface Lateness {
	readonly productionSlots: number;
	readonly productionG: number;
	readonly tests: number;
}

export interface WeekPlan {
	/** In time order, by roaster within the same start. */
	readonly slots: readonly Slot[];
	readonly unplaced: readonly Unplaced[];
	readonly roasters: readonly RoasterMinutes[];
	/** Slots that end after they are due. */
	readonly late: Lateness;
	/** The rule that made it, for a person. */
	readonly rule: string;
}

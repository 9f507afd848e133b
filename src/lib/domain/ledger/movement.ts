import type { InstantMs } from '../quantity/time.ts';

/**
 * The stock ledger only grows. A movement's mass is signed: in is positive, out is negative; on hand is
 * the sum. A count that differs is a movement of its own with a reason and a name.
 */
export const MOVEMENT_KINDS = [
	'received',
	'sampled',
	'tested',
	'produced',
	'sold green',
	'written off',
	'count difference'
] as const;
export type MovementKind = (typeof MOVEMENT_KINDS)[number];

export interface Movement {
	readonly lotId: number;
	readonly at: InstantMs;
	readonly kind: MovementKind;
	/** Signed integer grams of green coffee. */
	readonly massG: number;
	readonly reason: string;
	readonly by: string;
}

import type { InstantMs } from '#lib/domain/quantity/time.ts';

/**
 * Guessing is slowed, nobody is locked out for ever. Rules:
 * 1. After some failed tries the next has to wait, each time twice as long, a quarter of an hour at most.
 * 2. A try that has to wait is refused unseen and counts for nothing.
 * 3. Failures are forgotten after a day; those of an account also when it signs in.
 */
export interface Patience {
	/** Failed tries that cost nothing. */
	readonly free: number;
}

/** One account is tried by one person. */
export const OF_ACCOUNT: Patience = { free: 5 };
/** Behind one address there may be a whole roastery. */
export const OF_ADDRESS: Patience = { free: 30 };

const FIRST_WAIT_MS = 2_000;
const LONGEST_WAIT_MS = 15 * 60_000;
export const REMEMBERED_MS = 24 * 60 * 60_000;

/** Milliseconds until the next try is looked at; 0 for now. */
export function waitMs(failedAt: readonly InstantMs[], now: InstantMs, { free }: Patience): number {
	const remembered = failedAt.filter((at) => now - at < REMEMBERED_MS);
	if (remembered.length < free) return 0;
	const doubled = FIRST_WAIT_MS * 2 ** Math.min(remembered.length - free, 20);
	return Math.max(0, Math.max(...remembered) + Math.min(doubled, LONGEST_WAIT_MS) - now);
}

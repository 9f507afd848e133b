import type { InstantMs } from '#lib/domain/quantity/time.ts';

/**
 * How often a token may call. Rules:
 * 1. Calls are counted by the minute, a minute beginning with the first call after the one before is over.
 * 2. Calls of logs that are being sent are counted by themselves, and may be many: twenty a second.
 * 3. A call too many is answered 429 with the seconds to wait, and isn't counted.
 * 4. Counts are in memory: a restart forgives, and each process counts by itself.
 */
export const CALLS_A_MINUTE = 600;
export const LIVE_CALLS_A_MINUTE = 1_200;

const MINUTE_MS = 60_000;
/** Minutes that are over are forgotten once so many are kept. */
const MOST_KEPT = 1_000;

export interface RateLimit {
	/**
	 * Counts a call.
	 * @param key whose call, by a name that is no secret
	 * @param most calls in a minute
	 * @returns whole seconds until the next call is taken; 0 when this one is
	 */
	take(key: string, most: number, now: InstantMs): number;
}

/** Counts from now on. */
export function rateLimit(): RateLimit {
	const minutes = new Map<string, { readonly from: InstantMs; count: number }>();
	return {
		take(key, most, now) {
			const minute = minutes.get(key);
			const isOver = !minute || now - minute.from >= MINUTE_MS || now < minute.from;
			if (isOver) {
				if (minutes.size >= MOST_KEPT) forgetOld(now);
				minutes.set(key, { from: now, count: 1 });
				return 0;
			}
			if (minute.count >= most) return Math.ceil((minute.from + MINUTE_MS - now) / 1000);
			minute.count++;
			return 0;
		}
	};

	function forgetOld(now: InstantMs): void {
		for (const [key, { from }] of minutes) if (now - from >= MINUTE_MS) minutes.delete(key);
	}
}

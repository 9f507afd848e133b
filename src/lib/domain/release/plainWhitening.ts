/**
 * The distance between release curves where the library is too small to learn one from (`whiteningOf`
 * refuses below 20): every degree counts for itself, in units of how far two roasts of one lot lie apart
 * there.
 *
 * Rules:
 * 1. A distance of 1 after `apartInRepeats` is that of two roasts of one lot, on the whole.
 * 2. Curves are compared as shares of the water, since a total is often not known.
 */
import { FINGERPRINT_METHOD, FINGERPRINT_POINTS } from './fingerprint.ts';
import type { Repeatability } from './repeatability.ts';
import type { Whitening } from './whitening.ts';

/** The map that divides each point by its spread between two roasts of a lot. */
export function plainWhitening({ axis, curve }: Repeatability): Whitening {
	const map = new Float64Array(FINGERPRINT_POINTS * FINGERPRINT_POINTS);
	curve.forEach(({ sd }, i) => (map[i * FINGERPRINT_POINTS + i] = 1 / (Math.SQRT2 * sd)));
	const centre = new Float64Array(FINGERPRINT_POINTS);
	const method = FINGERPRINT_METHOD;
	return { method, axis, scale: 'share', from: 'assumed', repeatFreedom: 0, centre, map };
}

/** A distance of that map as a multiple of the usual one between two roasts of one lot (rule 1). */
export function apartInRepeats(distance: number): number {
	return distance / Math.sqrt(FINGERPRINT_POINTS);
}

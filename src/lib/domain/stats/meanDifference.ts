import { tQuantile } from './distributions.ts';
import { mean, standardDeviation } from './summary.ts';

/**
 * The difference between the means of two independent groups that may spread differently (Welch 1947):
 * a t interval with the degrees of freedom of Satterthwaite. Exact for normal values, near enough for
 * means of a dozen or more that aren't wildly skewed.
 */

export interface MeanDifference {
	/** Mean of the first group less that of the second. */
	readonly difference: number;
	readonly low: number;
	readonly high: number;
	/** Degrees of freedom, not whole. */
	readonly df: number;
}

/** Null where a group has fewer than two values or nothing spreads: there is no interval then. */
export function meanDifference(
	first: readonly number[],
	second: readonly number[],
	level = 0.95
): MeanDifference | null {
	if (!(level > 0 && level < 1)) {
		throw new RangeError(`a level is between 0 and 1, found ${level}`);
	}
	if (first.length < 2 || second.length < 2) return null;
	const [a, b] = [first, second].map((v) => standardDeviation(v) ** 2 / v.length) as [
		number,
		number
	];
	if (a + b === 0) return null;
	const df = (a + b) ** 2 / (a ** 2 / (first.length - 1) + b ** 2 / (second.length - 1));
	const difference = mean(first) - mean(second);
	const reach = tQuantile((1 + level) / 2, df) * Math.sqrt(a + b);
	return { difference, low: difference - reach, high: difference + reach, df };
}

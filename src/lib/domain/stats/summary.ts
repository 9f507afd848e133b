/** Summaries of a list of numbers. All throw RangeError on too few values, none sorts its input. */

/** Arithmetic mean. */
export function mean(values: readonly number[]): number {
	need(values, 1, 'a mean');
	return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** Sample standard deviation, divisor n - 1, in two passes. */
export function standardDeviation(values: readonly number[]): number {
	need(values, 2, 'a standard deviation');
	const centre = mean(values);
	const squares = values.reduce((sum, value) => sum + (value - centre) ** 2, 0);
	return Math.sqrt(squares / (values.length - 1));
}

/** The middle value, or the mean of the middle two. */
export function median(values: readonly number[]): number {
	return quantile(values, 0.5);
}

/**
 * Sample quantile, types of Hyndman & Fan (1996): 7 interpolates between (k-1)/(n-1), the default of R and
 * spreadsheets; 6 between k/(n+1), held at the ends.
 * @param p probability from 0 to 1
 */
export function quantile(values: readonly number[], p: number, type: 6 | 7 = 7): number {
	need(values, 1, 'a quantile');
	if (!(p >= 0 && p <= 1)) throw new RangeError(`a probability is from 0 to 1, found ${p}`);
	const sorted = [...values].sort((a, b) => a - b);
	const n = sorted.length;
	const place = type === 7 ? (n - 1) * p : (n + 1) * p - 1;
	const held = Math.min(n - 1, Math.max(0, place));
	const below = Math.floor(held);
	const low = sorted[below] ?? Number.NaN;
	const high = sorted[Math.min(n - 1, below + 1)] ?? low;
	return low + (held - below) * (high - low);
}

function need(values: readonly number[], least: number, what: string): void {
	if (values.length < least) {
		throw new RangeError(`${what} needs at least ${least} values, found ${values.length}`);
	}
}

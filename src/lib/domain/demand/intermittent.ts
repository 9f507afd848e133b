import { leastIn } from './smoothing.ts';

/**
 * Demand with many periods of none (Croston 1972): the size of a demand and the interval between demands are
 * smoothed apart, each updated only when something is asked for; their quotient is the mean demand per
 * period. Both start from the first demand, its interval counted from the start of the series. The quotient
 * is biased upwards; Syntetos and Boylan (2005) multiply it by one less half the weight.
 */

export interface Intermittent {
	readonly weight: number;
	/** Smoothed size of a demand. */
	readonly size: number;
	/** Smoothed periods from one demand to the next. */
	readonly interval: number;
	/** Mean demand per period to come. */
	readonly perPeriod: number;
	/** Sum of the squared one-step errors after the first demand. */
	readonly sumOfSquares: number;
}

/**
 * Croston's method with a fixed weight.
 * @param corrected after Syntetos and Boylan
 * @throws RangeError when nothing was ever asked for
 */
export function croston(
	values: readonly number[],
	weight: number,
	corrected: boolean
): Intermittent {
	const first = values.findIndex((value) => value > 0);
	if (first < 0) throw new RangeError('intermittent demand needs a period with demand, found none');
	const factor = corrected ? 1 - weight / 2 : 1;
	let size = values[first]!;
	let interval = first + 1;
	let since = 0;
	let sumOfSquares = 0;
	for (const value of values.slice(first + 1)) {
		sumOfSquares += (value - (factor * size) / interval) ** 2;
		since += 1;
		if (value <= 0) continue;
		size += weight * (value - size);
		interval += weight * (since - interval);
		since = 0;
	}
	return { weight, size, interval, perPeriod: (factor * size) / interval, sumOfSquares };
}

/** Croston's method with the weight of the least squared one-step error. */
export function fitCroston(values: readonly number[], corrected: boolean): Intermittent {
	const [weight] = leastIn(1, ([at]) => croston(values, at!, corrected).sumOfSquares);
	return croston(values, weight!, corrected);
}

/** Mean periods from one demand to the next, the first counted from the start; null without a demand. */
export function meanInterval(values: readonly number[]): number | null {
	const last = values.findLastIndex((value) => value > 0);
	return last < 0 ? null : (last + 1) / values.filter((value) => value > 0).length;
}

import { mean } from './summary.ts';

/**
 * Charts that tell a process that changed from one that only scatters.
 *
 * Sources: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 (individuals) and 6.3.2.3 (tabular
 * CUSUM); its figures are checked in tests/published/control.test.ts (from memory, recomputed).
 */

/** Mean range of two independent normal values is 2 / sqrt(pi) standard deviations: 1.128. */
export const D2_OF_TWO = 2 / Math.sqrt(Math.PI);

export interface Individuals {
	readonly centre: number;
	/** Standard deviation from one value to the next: mean moving range / 1.128. */
	readonly sigma: number;
	/** Three standard deviations either way: the centre -+ 2.66 mean moving ranges. */
	readonly low: number;
	readonly high: number;
}

/** Limits of single values from their own scatter, of at least two. A steady drift widens sigma little. */
export function individuals(values: readonly number[]): Individuals {
	if (values.length < 2)
		throw new RangeError(`limits of single values need 2 of them, found ${values.length}`);
	const ranges = values.slice(1).map((value, i) => Math.abs(value - values[i]!));
	const centre = mean(values);
	const sigma = mean(ranges) / D2_OF_TWO;
	return { centre, sigma, low: centre - 3 * sigma, high: centre + 3 * sigma };
}

/** Both sums at one value. */
export interface CusumPoint {
	readonly high: number;
	readonly low: number;
}

export interface CusumRule {
	/** Where the process should be. */
	readonly centre: number;
	/** What is allowed at each value, in its unit: half the shift to be found, usually sigma / 2. */
	readonly slack: number;
	/** A sum above this signals; 4 or 5 sigma is usual. */
	readonly limit: number;
}

export interface Cusum {
	readonly points: readonly CusumPoint[];
	/** First value whose sum passes the limit, from which side it came and where that sum began. */
	readonly signal: {
		readonly at: number;
		readonly since: number;
		readonly side: 'high' | 'low';
	} | null;
}

/** Tabular cumulative sums: each adds what a value is beyond the slack and never goes below 0. */
export function cusum(values: readonly number[], { centre, slack, limit }: CusumRule): Cusum {
	const points: CusumPoint[] = [];
	const since = { high: 0, low: 0 };
	let signal: Cusum['signal'] = null;
	for (const [at, value] of values.entries()) {
		const before = points.at(-1) ?? { high: 0, low: 0 };
		if (before.high === 0) since.high = at;
		if (before.low === 0) since.low = at;
		const point = {
			high: Math.max(0, before.high + value - centre - slack),
			low: Math.max(0, before.low + centre - value - slack)
		};
		points.push(point);
		if (signal === null && Math.max(point.high, point.low) > limit) {
			const side = point.high > limit ? 'high' : 'low';
			signal = { at, since: since[side], side };
		}
	}
	return { points, signal };
}

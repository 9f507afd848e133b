import { cusum, individuals } from '../stats/control.ts';

/**
 * Whether successive production batches of a recipe wander off. Rules of this file, cited in test names:
 *
 * W1 The first batches that have a figure, BASELINE of them, say where it lies and how it scatters
 *    (individuals chart); fewer say nothing.
 * W2 Later ones are followed by tabular cumulative sums about that centre, allowing a standard deviation a
 *    batch (half of the shift of two that is sought); a sum above five is a drift. It began where the sum
 *    that signals began.
 * W3 A single batch beyond three standard deviations is out of line, and no drift by itself: in the sums it
 *    counts as three.
 * W4 A batch without the figure is passed over.
 *
 * The usual slack of half a standard deviation supposes a known scatter (NIST e-Handbook 6.3.2.3); with one
 * from twelve batches it raised a false alarm in one of five series of 20 batches that only scattered, a
 * whole one in one of 27, and still noticed a rise of a fifth of a standard deviation a batch after 11 or 12
 * (1,000 made series each; drift.test.ts repeats a part).
 */
export const BASELINE = 12;
export const SLACK_SIGMA = 1;
export const LIMIT_SIGMA = 5;

/** A figure of successive batches, oldest first; null where a batch has none. */
export type Successive = readonly (number | null)[];

export interface Drift {
	/** Batches with the figure. */
	readonly count: number;
	/** Null with fewer than BASELINE of them. */
	readonly baseline: {
		readonly centre: number;
		readonly sigma: number;
		readonly low: number;
		readonly high: number;
	} | null;
	/** Places of batches beyond the limits, counted in the given list. */
	readonly outOfLine: readonly number[];
	readonly drift: {
		/** Place of the batch at which the sum began, and of that at which it was noticed. */
		readonly since: number;
		readonly noticedAt: number;
		/** Mean of the batches since it began, less the centre. */
		readonly by: number;
		readonly side: 'high' | 'low';
	} | null;
}

/**
 * Follows one figure over successive batches.
 * @param least smallest scatter that is believed, in the figure's unit: ten equal weighings of a scale are
 *   no proof of a scatter of nought
 */
export function driftOf(figures: Successive, least: number): Drift {
	const known = figures.flatMap((value, place) => (value === null ? [] : [{ value, place }]));
	const none = { count: known.length, baseline: null, outOfLine: [], drift: null };
	if (known.length < BASELINE) return none;
	const values = known.map(({ value }) => value);
	const { centre, sigma: scatter } = individuals(values.slice(0, BASELINE));
	const sigma = Math.max(scatter, least);
	const low = centre - 3 * sigma;
	const high = centre + 3 * sigma;
	const later = known.slice(BASELINE);
	const { signal } = cusum(
		later.map(({ value }) => Math.min(high, Math.max(low, value))),
		{ centre, slack: SLACK_SIGMA * sigma, limit: LIMIT_SIGMA * sigma }
	);
	const since = signal && later.slice(signal.since);
	return {
		count: known.length,
		baseline: { centre, sigma, low, high },
		outOfLine: known.filter(({ value }) => value < low || value > high).map(({ place }) => place),
		drift: signal && {
			since: later[signal.since]!.place,
			noticedAt: later[signal.at]!.place,
			by: since!.reduce((sum, { value }) => sum + value, 0) / since!.length - centre,
			side: signal.side
		}
	};
}

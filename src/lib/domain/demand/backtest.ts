import { mean } from '../stats/summary.ts';

/**
 * Back-test with a rolling origin: the series is cut off at one period after another, each time forecast
 * from what was known until then, weights included, and compared with what came. An error is what came less
 * what was forecast.
 */

/** Forecasts of the next `steps` values of a series. */
export type Forecaster = (values: readonly number[], steps: number) => readonly number[];

/** The errors of one method from every origin. */
export interface BackTest {
	/** How many values each origin knew. */
	readonly origins: readonly number[];
	/** By origin, then by step ahead. */
	readonly errors: readonly (readonly number[])[];
	/** Mean absolute change from one value to the next that each origin knew: the scale of MASE. */
	readonly scales: readonly number[];
}

/** Sizes of error. */
export interface Accuracy {
	/** Mean absolute error, in the unit of the series. */
	readonly mae: number;
	/** Root mean squared error, in the unit of the series. */
	readonly rmse: number;
	/**
	 * Mean absolute scaled error (Hyndman and Koehler 2006): 1 is as good as carrying each known value on by
	 * one period. Null where the known values never changed.
	 */
	readonly mase: number | null;
}

/**
 * The last origins, one period apart, from which all steps are known.
 * @param least values the first origin must know
 * @param most origins at most
 */
export function rollingOrigins(
	length: number,
	steps: number,
	least: number,
	most: number
): readonly number[] {
	const last = length - steps;
	const count = Math.max(0, Math.min(most, last - least + 1));
	return Array.from({ length: count }, (_, i) => last - count + 1 + i);
}

/** Forecasts from every origin and compares. */
export function backTest(
	values: readonly number[],
	steps: number,
	origins: readonly number[],
	forecast: Forecaster
): BackTest {
	const errors = origins.map((origin) => {
		const ahead = forecast(values.slice(0, origin), steps);
		return ahead.map((value, step) => values[origin + step]! - value);
	});
	return { origins, errors, scales: origins.map((origin) => naiveScale(values.slice(0, origin))) };
}

/** Mean absolute change from one value to the next. @throws RangeError for fewer than two values */
export function naiveScale(values: readonly number[]): number {
	return mean(values.slice(1).map((value, i) => Math.abs(value - values[i]!)));
}

/** The sizes of the errors of a back-test, over all origins and steps. @throws RangeError without origins */
export function accuracyOf({ errors, scales }: BackTest): Accuracy {
	const all = errors.flat();
	const isFlat = scales.some((scale) => scale === 0);
	const scaled = errors.flatMap((row, i) => row.map((error) => Math.abs(error) / scales[i]!));
	return {
		mae: mean(all.map(Math.abs)),
		rmse: rootMeanSquare(all),
		mase: isFlat ? null : mean(scaled)
	};
}

/** Square root of the mean of the squares. @throws RangeError for an empty list */
export function rootMeanSquare(values: readonly number[]): number {
	return Math.sqrt(mean(values.map((value) => value * value)));
}

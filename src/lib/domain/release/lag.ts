/**
 * The lag of a humidity sensor: first order, so that what it shows runs after the truth by
 * `d shown / dt = (truth - shown) / lag`.
 */
import { filterWithEnds, savgolWeightSet, type WeightSet } from '../curve/smooth.ts';

/** Weights of one step of the lag for an input that is straight between places. */
export interface LagStep {
	/** Of the value shown before, the input now, and the input before. They sum to one. */
	readonly shown: number;
	readonly now: number;
	readonly before: number;
}

/** The exact step of a first-order lag over one second; a lag of nought passes the input. */
export function lagStep(lagS: number): LagStep {
	if (!(lagS > 0)) return { shown: 0, now: 1, before: 0 };
	const shown = Math.exp(-1 / lagS);
	const now = 1 - lagS * (1 - shown);
	return { shown, now, before: 1 - shown - now };
}

/** What a sensor with this lag would show of `truth`, a value a second, settled at the start. */
export function lagged(truth: ArrayLike<number>, lagS: number): Float64Array {
	const { shown, now, before } = lagStep(lagS);
	const result = new Float64Array(truth.length);
	if (truth.length === 0) return result;
	result[0] = truth[0]!;
	for (let i = 1; i < truth.length; i++) {
		result[i] = shown * result[i - 1]! + now * truth[i]! + before * truth[i - 1]!;
	}
	return result;
}

/**
 * The truth behind a lagged, noisy series, a value a second: a local cubic's value plus the lag times
 * its slope, in one pass. The window is the regulariser: undoing the lag exactly would multiply the
 * noise by the lag; over `points` places the noise grows by `unlagNoiseGain`. In the half windows at
 * either end the cubic gives way to the straight line of the first and last full window, wholly so at
 * the outermost place: the slope of a cubic at its very end is mostly noise, and the lag multiplies it.
 * A series shorter than the window is returned as it is.
 */
export function unlagged(shown: Float64Array, lagS: number, points: number): Float64Array {
	if (shown.length < points) return shown.slice();
	return filterWithEnds(shown, unlagWeights(lagS, points));
}

/** Standard deviation out over standard deviation in, for white noise, of `unlagged`. */
export function unlagNoiseGain(lagS: number, points: number): number {
	const half = (points - 1) / 2;
	const values = savgolWeightSet(points, 3, 0)[half]!;
	const slopes = savgolWeightSet(points, 3, 1)[half]!;
	let sum = 0;
	for (let i = 0; i < points; i++) sum += (values[i]! + lagS * slopes[i]!) ** 2;
	return Math.sqrt(sum);
}

function unlagWeights(lagS: number, points: number): WeightSet {
	const half = (points - 1) / 2;
	const cubic = { values: savgolWeightSet(points, 3, 0), slopes: savgolWeightSet(points, 3, 1) };
	const line = { values: savgolWeightSet(points, 1, 0), slopes: savgolWeightSet(points, 1, 1) };
	return cubic.values.map((_, place) => {
		const outwards = Math.abs(place - half) / half;
		const weights = new Float64Array(points);
		for (let i = 0; i < points; i++) {
			const inner = cubic.values[place]![i]! + lagS * cubic.slopes[place]![i]!;
			const outer = line.values[place]![i]! + lagS * line.slopes[place]![i]!;
			weights[i] = inner + outwards * (outer - inner);
		}
		return weights;
	});
}

/**
 * Multiplies what lies behind a lagged series by `factor`, place by place, and gives what the sensor
 * would have shown of that: with the flow's factor it turns shown humidity into shown release. The lag
 * is undone and done again by the same step, so that white noise stays white where the factor is even
 * and nothing is smoothed.
 */
export function rescaleBehindLag(
	shown: Float64Array,
	factor: Float64Array,
	lagS: number
): Float64Array {
	const kept = lagS > 0 ? Math.exp(-1 / lagS) : 0;
	const result = new Float64Array(shown.length);
	if (shown.length === 0) return result;
	result[0] = shown[0]! * factor[0]!;
	for (let i = 1; i < shown.length; i++) {
		result[i] = kept * result[i - 1]! + factor[i]! * (shown[i]! - kept * shown[i - 1]!);
	}
	return result;
}

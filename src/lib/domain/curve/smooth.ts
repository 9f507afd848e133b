/**
 * Smoothing and derivatives of evenly spaced values by local polynomials.
 *
 * Source: Savitzky and Golay, Anal. Chem. 36 (1964) 1627; weights from Gram polynomials after Gorry,
 * Anal. Chem. 62 (1990) 570, which also gives the ends their own weights, so that no value is
 * invented outside the data and a polynomial of the order passes unchanged from end to end.
 */
import { productAt } from './product.ts';

export interface SmoothOptions {
	/** Points of the window: odd, and more than the order. */
	readonly points: number;
	/** Order of the local polynomial. */
	readonly order: number;
	/** 0 smooths, 1 gives the slope, 2 the curvature. */
	readonly derivative?: number;
	/** Distance between values; the answer is per this unit. 1 unless given. */
	readonly step?: number;
}

/**
 * Weights, first value first, of the local polynomial's value (or derivative, for unit spacing) at
 * `offset` places from the middle of the window.
 */
export function savgolWeights(
	points: number,
	order: number,
	derivative = 0,
	offset = 0
): Float64Array {
	if (!Number.isInteger(points) || points < 1 || points % 2 === 0) {
		throw new RangeError(`window of ${points} points is not odd`);
	}
	if (!Number.isInteger(order) || order < 0 || order >= points) {
		throw new RangeError(`order ${order} does not fit a window of ${points} points`);
	}
	const half = (points - 1) / 2;
	const atOffset = gramValues(half, order, derivative, offset);
	const weights = new Float64Array(points);
	for (let place = -half; place <= half; place++) {
		const values = gramValues(half, order, 0, place);
		let sum = 0;
		for (let k = 0; k <= order; k++) {
			sum += gramFactor(half, k) * values[k]! * atOffset[k]!;
		}
		weights[place + half] = sum;
	}
	return weights;
}

/** (2k+1) (2m)^(k) / (2m+k+1)^(k+1), falling factorials: one over the squared length of Gram k. */
function gramFactor(half: number, k: number): number {
	let factor = 2 * k + 1;
	for (let j = 0; j < k; j++) factor *= (2 * half - j) / (2 * half + k + 1 - j);
	return factor / (2 * half + 1);
}

/** The `derivative`-th derivatives of Gram polynomials 0 to `order` at a place of the window. */
function gramValues(half: number, order: number, derivative: number, place: number): Float64Array {
	let lower = new Float64Array(order + 1);
	let values = new Float64Array(order + 1);
	for (let s = 0; s <= derivative; s++) {
		values = new Float64Array(order + 1);
		if (s === 0) values[0] = 1;
		for (let k = 1; k <= order; k++) {
			const scale = k * (2 * half - k + 1);
			const back = k > 1 ? values[k - 2]! : 0;
			values[k] =
				((4 * k - 2) / scale) * (place * values[k - 1]! + s * lower[k - 1]!) -
				(((k - 1) * (2 * half + k)) / scale) * back;
		}
		lower = values;
	}
	return values;
}

/**
 * Smoothed values, or their derivative, at every place; the first and last half windows come from the
 * polynomial of the first and last full window. Shorter input than the window, or a missing value in
 * a window, gives NaN there.
 */
export function savgolFilter(values: ArrayLike<number>, options: SmoothOptions): Float64Array {
	const { points, order, derivative = 0, step = 1 } = options;
	const result = filterWithEnds(values, savgolWeightSet(points, order, derivative));
	if (derivative > 0) {
		const scale = step ** -derivative;
		for (let i = 0; i < result.length; i++) result[i]! *= scale;
	}
	return result;
}

/** Weights for every place of a window, from its first to its last. */
export type WeightSet = readonly Float64Array[];

const weightSets = new Map<string, WeightSet>();
const WEIGHT_SETS_KEPT = 32;

/** `savgolWeights` for every place of the window; kept, since a log's channels share them. */
export function savgolWeightSet(points: number, order: number, derivative: number): WeightSet {
	const key = `${points}/${order}/${derivative}`;
	const known = weightSets.get(key);
	if (known) return known;
	const half = (points - 1) / 2;
	const set: Float64Array[] = [];
	for (let offset = -half; offset <= half; offset++) {
		set.push(savgolWeights(points, order, derivative, offset));
	}
	if (weightSets.size >= WEIGHT_SETS_KEPT) weightSets.clear();
	weightSets.set(key, set);
	return set;
}

/**
 * Each value's window weighed by the middle weights, the ends by those of their own place in the first
 * and last full window. NaN throughout for fewer values than the window has.
 */
export function filterWithEnds(values: ArrayLike<number>, weights: WeightSet): Float64Array {
	const points = weights.length;
	const half = (points - 1) / 2;
	const count = values.length;
	const column = values instanceof Float64Array ? values : Float64Array.from(values);
	const result = new Float64Array(count);
	if (count < points) return result.fill(NaN);
	const middle = weights[half]!;
	for (let i = half; i < count - half; i++) result[i] = productAt(middle, column, i - half);
	for (let edge = 0; edge < half; edge++) {
		result[edge] = productAt(weights[edge]!, column, 0);
		result[count - 1 - edge] = productAt(weights[points - 1 - edge]!, column, count - points);
	}
	return result;
}

/**
 * Slope at each point of unevenly spaced values: the parabola through a point and its neighbours
 * inside, the straight line at the ends. NaN with fewer than two points.
 */
export function slopes(x: ArrayLike<number>, y: ArrayLike<number>): Float64Array {
	if (x.length !== y.length) throw new RangeError(`${x.length} positions but ${y.length} values`);
	const last = x.length - 1;
	const result = new Float64Array(x.length).fill(NaN);
	if (last < 1) return result;
	const secant = (i: number) => (y[i + 1]! - y[i]!) / (x[i + 1]! - x[i]!);
	result[0] = secant(0);
	result[last] = secant(last - 1);
	for (let i = 1; i < last; i++) {
		const before = x[i]! - x[i - 1]!;
		const after = x[i + 1]! - x[i]!;
		result[i] = (after * secant(i - 1) + before * secant(i)) / (before + after);
	}
	return result;
}

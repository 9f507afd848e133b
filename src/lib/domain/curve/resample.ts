/**
 * Values between samples. Sample positions rise strictly; a broken order or unequal lengths throw,
 * since they mean that a log got past its intake. Outside the samples the answer is NaN: nothing is
 * extrapolated.
 */

/** Evenly spaced times, s, from the first to the last, both included when the step allows it. */
export function evenGrid(firstS: number, lastS: number, stepS: number): Float64Array {
	if (!(stepS > 0)) throw new RangeError(`grid step ${stepS} s is not above 0`);
	if (!(lastS >= firstS)) return new Float64Array(0);
	const grid = new Float64Array(Math.floor((lastS - firstS) / stepS + 1e-9) + 1);
	for (let i = 0; i < grid.length; i++) grid[i] = firstS + i * stepS;
	return grid;
}

/** Points with a finite value only, in their order. */
export interface Points {
	readonly x: Float64Array;
	readonly y: Float64Array;
}

/** The points whose value is a finite number; a missing value (NaN) is left out. */
export function presentPoints(x: ArrayLike<number>, y: ArrayLike<number>): Points {
	requireSameLength(x, y);
	const keptX = new Float64Array(x.length);
	const keptY = new Float64Array(x.length);
	let kept = 0;
	for (let i = 0; i < x.length; i++) {
		if (!Number.isFinite(y[i]!)) continue;
		keptX[kept] = x[i]!;
		keptY[kept++] = y[i]!;
	}
	return { x: keptX.subarray(0, kept), y: keptY.subarray(0, kept) };
}

/** Straight lines between samples, read at rising positions; NaN outside the samples. */
export function resampleLinear(
	x: ArrayLike<number>,
	y: ArrayLike<number>,
	at: ArrayLike<number>
): Float64Array {
	return resample(x, y, at, (left, share) => y[left]! + share * (y[left + 1]! - y[left]!));
}

/**
 * Piecewise cubics that keep the samples' rises and falls and never overshoot, read at rising
 * positions; NaN outside the samples.
 *
 * Source: Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300, slopes by the weighted
 * harmonic mean; end slopes by the three-point rule, limited to keep the shape.
 */
export function resamplePchip(
	x: ArrayLike<number>,
	y: ArrayLike<number>,
	at: ArrayLike<number>
): Float64Array {
	const slopes = pchipSlopes(x, y);
	return resample(x, y, at, (left, share) => {
		const step = x[left + 1]! - x[left]!;
		const rise = y[left + 1]! - y[left]!;
		const s0 = slopes[left]! * step;
		const s1 = slopes[left + 1]! * step;
		const cubic = s0 + s1 - 2 * rise;
		return y[left]! + share * (s0 + share * (3 * rise - 2 * s0 - s1 + share * cubic));
	});
}

/** Slope at each sample of the curve that `resamplePchip` draws. */
export function pchipSlopes(x: ArrayLike<number>, y: ArrayLike<number>): Float64Array {
	requireRising(x);
	requireSameLength(x, y);
	const count = x.length;
	const slopes = new Float64Array(count);
	if (count < 2) return slopes;
	const step = (i: number) => x[i + 1]! - x[i]!;
	const secant = (i: number) => (y[i + 1]! - y[i]!) / step(i);
	if (count === 2) return slopes.fill(secant(0));
	for (let i = 1; i < count - 1; i++) {
		const before = secant(i - 1);
		const after = secant(i);
		if (!(before * after > 0)) continue;
		const weightBefore = 2 * step(i) + step(i - 1);
		const weightAfter = step(i) + 2 * step(i - 1);
		slopes[i] = (weightBefore + weightAfter) / (weightBefore / before + weightAfter / after);
	}
	slopes[0] = endSlope(step(0), step(1), secant(0), secant(1));
	slopes[count - 1] = endSlope(
		step(count - 2),
		step(count - 3),
		secant(count - 2),
		secant(count - 3)
	);
	return slopes;
}

function endSlope(near: number, far: number, secantNear: number, secantFar: number): number {
	const slope = ((2 * near + far) * secantNear - near * secantFar) / (near + far);
	if (Math.sign(slope) !== Math.sign(secantNear)) return 0;
	const turns = Math.sign(secantNear) !== Math.sign(secantFar);
	return turns && Math.abs(slope) > 3 * Math.abs(secantNear) ? 3 * secantNear : slope;
}

/** Walks positions and samples together; `between` gets the sample to the left and the share of the
 * way to the next. */
function resample(
	x: ArrayLike<number>,
	y: ArrayLike<number>,
	at: ArrayLike<number>,
	between: (left: number, share: number) => number
): Float64Array {
	requireRising(x);
	requireSameLength(x, y);
	const result = new Float64Array(at.length).fill(NaN);
	const last = x.length - 1;
	if (last < 0) return result;
	let left = 0;
	for (let i = 0; i < at.length; i++) {
		const position = at[i]!;
		if (!(position >= x[0]! && position <= x[last]!)) continue;
		if (left > 0 && position < x[left]!) throw new RangeError('positions do not rise');
		while (left < last - 1 && position >= x[left + 1]!) left++;
		if (position === x[left]!) result[i] = y[left]!;
		else if (position === x[left + 1]!) result[i] = y[left + 1]!;
		else result[i] = between(left, (position - x[left]!) / (x[left + 1]! - x[left]!));
	}
	return result;
}

function requireRising(x: ArrayLike<number>) {
	for (let i = 1; i < x.length; i++) {
		if (!(x[i]! > x[i - 1]!)) {
			throw new RangeError(`sample ${i} at ${x[i]} does not come after ${x[i - 1]}`);
		}
	}
}

function requireSameLength(x: ArrayLike<number>, y: ArrayLike<number>) {
	if (x.length !== y.length) {
		throw new RangeError(`${x.length} positions but ${y.length} values`);
	}
}

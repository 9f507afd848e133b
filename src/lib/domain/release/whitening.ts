/**
 * The distance between two release curves. What two roasts of one lot differ in counts for little, what
 * they agree in counts for much: the curve is put through a linear map after which the usual distance
 * (root of the summed squares) does that.
 *
 * Rules:
 * 1. With 20 degrees of freedom of repeats or more, the map whitens the spread within lots, half and half
 *    with the spread over the library at the same mean variance: few repeats don't know every direction,
 *    and the library shows those that curves vary in. With fewer repeats, the library's spread alone.
 *    Either is ridged by three times its mean variance: the small directions are noise. Halves and ridge
 *    were set on simulated roasts of the `tuning` seeds.
 * 2. A last turn puts the directions in which the library varies most first. It changes no distance, but a
 *    search can give up on most lots after a few of them.
 * 3. Curves are compared as g of water a kilogram of charge and degree, which told kinds apart best on
 *    simulated roasts; as shares of the water where too few totals are known.
 */
import { bad, good, type Outcome } from '../quantity/problem.ts';
import { choleskyFactor, solveLower, symmetricEigen } from '../stats/symmetric.ts';
import {
	FINGERPRINT_METHOD,
	FINGERPRINT_POINTS,
	type Fingerprint,
	type FingerprintAxis
} from './fingerprint.ts';
import { ENOUGH_FREEDOM, repeatsOn } from './repeatability.ts';

const N = FINGERPRINT_POINTS;
const RIDGE = 3;
/** Share of the library's spread beside that of the repeats. */
const LIBRARY_SHARE = 0.5;
/** Variance over the mean square below which curves are copies of each other. */
const LEAST_VARIANCE = 1e-12;
/** Fewest lots that a library's spread can be taken from. */
const FEWEST_LOTS = 20;
/** Share of the library that must have a total for it to count (rule 3). */
const ENOUGH_TOTALS = 0.8;

export type CurveScale = 'g/kg' | 'share';

/** The map from a curve to a point; plain arrays, so that a worker can be handed it. */
export interface Whitening {
	readonly method: string;
	readonly axis: FingerprintAxis;
	readonly scale: CurveScale;
	/** `assumed`: the spread of `plainWhitening.ts`, for a library that is too small. */
	readonly from: 'repeats' | 'library' | 'assumed';
	/** Of the repeats; 0 where the library's spread was taken. */
	readonly repeatFreedom: number;
	/** Middle of the library, 128 points. */
	readonly centre: Float64Array;
	/** 128 x 128, row by row: a direction a row, the one the library varies most in first. */
	readonly map: Float64Array;
}

/**
 * The whitening of a library, with its repeats by lot.
 * @returns a problem when fewer than 20 fingerprints can be compared
 */
export function whiteningOf(
	library: readonly Fingerprint[],
	repeats: readonly (readonly Fingerprint[])[],
	axis: FingerprintAxis
): Outcome<Whitening> {
	const usable = library.filter((one) => one.axis === axis && one.method === FINGERPRINT_METHOD);
	const totals = usable.filter((one) => one.features.totalGPerKg !== null);
	const scale = totals.length >= ENOUGH_TOTALS * usable.length ? 'g/kg' : 'share';
	const curves = curvesOf(usable, scale);
	if (curves.length < FEWEST_LOTS) {
		const message = `${curves.length} sample roasts can be compared by ${axis} temperature; expected ${FEWEST_LOTS} or more to tell similar lots from others.`;
		return bad({ path: 'library', message });
	}
	const groups = repeatsOn(repeats, axis).map((group) => curvesOf(group, scale));
	const repeatFreedom = groups.reduce((sum, group) => sum + Math.max(0, group.length - 1), 0);
	const overLibrary = pooledCovariance([curves]);
	const centre = meanOf(curves);
	const least = LEAST_VARIANCE * (Math.hypot(...centre) ** 2 / N);
	if (!(meanVariance(overLibrary) > least)) {
		return bad({
			path: 'library',
			message: 'All curves of the library are the same; none is nearer.'
		});
	}
	const within = repeatFreedom >= ENOUGH_FREEDOM ? pooledCovariance(groups) : null;
	const from = within && meanVariance(within) > least ? 'repeats' : 'library';
	const spread = from === 'repeats' ? blended(within!, overLibrary) : overLibrary;
	return good({
		method: FINGERPRINT_METHOD,
		axis,
		scale,
		from,
		repeatFreedom: from === 'repeats' ? repeatFreedom : 0,
		centre,
		map: turnedMap(spread, curves, centre)
	});
}

/**
 * Puts a fingerprint's point into `target` from `offset` on. False, and nothing written, where it has
 * another axis or method, or no total where totals count.
 */
export function placeInto(
	whitening: Whitening,
	fingerprint: Fingerprint,
	target: Float32Array,
	offset = 0
): boolean {
	const { map, centre, axis, method, scale } = whitening;
	if (fingerprint.axis !== axis || fingerprint.method !== method) return false;
	const factor = factorOf(fingerprint, scale);
	if (factor === null) return false;
	const apart = centre.map((middle, i) => factor * fingerprint.curve[i]! - middle);
	for (let row = 0; row < N; row++) {
		let sum = 0;
		for (let i = 0; i < N; i++) sum += map[row * N + i]! * apart[i]!;
		target[offset + row] = sum;
	}
	return true;
}

/** What a curve in per mille is multiplied by; null where its total is needed and not known. */
function factorOf({ features }: Fingerprint, scale: CurveScale): number | null {
	if (scale === 'share') return 1;
	return features.totalGPerKg === null ? null : features.totalGPerKg / 1000;
}

function curvesOf(fingerprints: readonly Fingerprint[], scale: CurveScale): Float64Array[] {
	return fingerprints.flatMap((one) => {
		const factor = factorOf(one, scale);
		return factor === null ? [] : [Float64Array.from(one.curve, (value) => factor * value)];
	});
}

function meanOf(curves: readonly Float64Array[]): Float64Array {
	const mean = new Float64Array(N);
	for (const curve of curves) for (let i = 0; i < N; i++) mean[i]! += curve[i]! / curves.length;
	return mean;
}

/** Covariance within groups, over the curves less one of each group. */
function pooledCovariance(groups: readonly (readonly Float64Array[])[]): Float64Array {
	const sums = new Float64Array(N * N);
	let freedom = 0;
	for (const group of groups) {
		if (group.length < 2) continue;
		freedom += group.length - 1;
		const mean = meanOf(group);
		for (const curve of group) {
			const apart = curve.map((value, i) => value - mean[i]!);
			for (let i = 0; i < N; i++) {
				for (let j = 0; j < N; j++) sums[i * N + j]! += apart[i]! * apart[j]!;
			}
		}
	}
	return sums.map((sum) => sum / freedom);
}

function meanVariance(covariance: Float64Array): number {
	let sum = 0;
	for (let i = 0; i < N; i++) sum += covariance[i * N + i]!;
	return sum / N;
}

/** The spread within lots with that of the library, scaled to the same mean variance (rule 1). */
function blended(within: Float64Array, overLibrary: Float64Array): Float64Array {
	const scale = (LIBRARY_SHARE * meanVariance(within)) / meanVariance(overLibrary);
	return within.map((value, i) => (1 - LIBRARY_SHARE) * value + scale * overLibrary[i]!);
}

/** The whitening map of a spread (rule 1), turned by the library's main directions (rule 2). */
function turnedMap(
	spread: Float64Array,
	curves: readonly Float64Array[],
	centre: Float64Array
): Float64Array {
	const ridged = Float64Array.from(spread);
	const ridge = RIDGE * meanVariance(spread);
	for (let i = 0; i < N; i++) ridged[i * N + i]! += ridge;
	const lower = choleskyFactor(ridged, N);
	const whitened = curves.map((curve) =>
		solveLower(
			lower,
			N,
			curve.map((value, i) => value - centre[i]!)
		)
	);
	const { vectors } = symmetricEigen(pooledCovariance([whitened]), N);
	const inverse = columnsSolved(lower);
	const map = new Float64Array(N * N);
	for (let row = 0; row < N; row++) {
		for (let k = 0; k < N; k++) {
			const weight = vectors[row * N + k]!;
			for (let i = 0; i <= k; i++) map[row * N + i]! += weight * inverse[k * N + i]!;
		}
	}
	return map;
}

/** Inverse of a lower triangle. */
function columnsSolved(lower: Float64Array): Float64Array {
	const inverse = new Float64Array(N * N);
	for (let column = 0; column < N; column++) {
		const unit = new Float64Array(N);
		unit[column] = 1;
		solveLower(lower, N, unit).forEach((value, row) => (inverse[row * N + column] = value));
	}
	return inverse;
}

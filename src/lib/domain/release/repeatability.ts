/**
 * How well sample roasts of one lot repeat, and so which differences between two fingerprints are real.
 *
 * Rules:
 * 1. The spread within lots is pooled over all lots that were roasted more than once, each with its
 *    roasts less one as degrees of freedom.
 * 2. Below 20 degrees of freedom a prior counts as 6 more; without any repeats it stands alone. It is the
 *    spread of simulated repeats, half as much again, since real roasts repeat less well. This is said.
 * 3. Two single roasts differ in truth where they lie further apart than the repeatability limit,
 *    t x sqrt(2) x s. That is the limit of ISO 5725-6 (from memory), 1.96 x sqrt(2) x s, with Student's t
 *    in place of 1.96, which matters when there are few repeats. One pair of repeats in twenty lies
 *    further apart, for each feature that is compared.
 * 4. The limit of the curve is for all of it at once, else chance alone would put some part of most pairs
 *    outside: the one in twenty is shared out over 20 pieces (Bonferroni), each about as wide as what the
 *    curve is blurred over.
 */
import { Z_95 } from '../stats/discrete.ts';
import {
	FEATURES,
	FINGERPRINT_METHOD,
	FINGERPRINT_POINTS,
	pointC,
	type Feature,
	type Fingerprint,
	type FingerprintAxis
} from './fingerprint.ts';

/** Degrees of freedom from which repeats stand alone, and what the prior counts for below (rule 2). */
export const ENOUGH_FREEDOM = 20;
const PRIOR_FREEDOM = 6;

/** Pooled standard deviations of simulated repeats on one profile (180 degrees of freedom), times 1.5. */
const PRIOR_SD: Readonly<Record<Feature, number>> = {
	earlyShare: 0.0077,
	middleSlope: 0.013,
	evenness: 0.008,
	crackProminence: 0.11,
	crackWidthC: 1.25,
	crackTemperatureC: 0.35,
	totalGPerKg: 10.4
};
/** The same of the curve, per mille a degree, at points 4, 12, 20 and so on to 124. */
const PRIOR_CURVE_SD = [
	0.08, 0.11, 0.15, 0.24, 0.27, 0.2, 0.14, 0.14, 0.17, 0.23, 0.39, 0.57, 0.71, 0.98, 2.25, 1.8
] as const;

/** Normal points, two-sided: of 5 %, and of a twentieth of that (rules 3 and 4). */
const Z = { feature: Z_95, curve: 3.0233414397 } as const;

/** Runs of the curve outside the limit count from this width on, C: about what it is blurred over. */
const LEAST_SPAN_C = 5;

/** Spread within a lot and what follows from it, in the unit of what was measured. */
export interface Spread {
	readonly sd: number;
	/** Of the repeats, and of prior and repeats together. */
	readonly repeatFreedom: number;
	readonly freedom: number;
	/** Two single roasts of one lot lie closer than this in 19 of 20 pairs (rule 3): a feature by itself, the
	 * curve with all its points (rule 4). */
	readonly limit: number;
	readonly from: 'repeats' | 'repeats and prior' | 'prior';
}

export interface Repeatability {
	readonly method: string;
	readonly axis: FingerprintAxis;
	/** Lots roasted more than once, and their roasts. */
	readonly lots: number;
	readonly roasts: number;
	readonly features: Readonly<Record<Feature, Spread>>;
	/** A spread for each point of the curve, per mille a degree. */
	readonly curve: readonly Spread[];
	/** What it rests on, in words. */
	readonly because: string;
}

/**
 * Repeatability from roasts grouped by lot; roasts of one lot on one profile are meant. Fingerprints of
 * another axis or method are left out, and so are lots with fewer than two.
 */
export function repeatabilityOf(
	groups: readonly (readonly Fingerprint[])[],
	axis: FingerprintAxis
): Repeatability {
	const repeated = repeatsOn(groups, axis);
	const roasts = repeated.reduce((sum, group) => sum + group.length, 0);
	const features = Object.fromEntries(
		FEATURES.map((name) => {
			const values = repeated.map((group) => group.map(({ features: found }) => found[name]));
			return [name, spreadOf(values, PRIOR_SD[name], Z.feature)];
		})
	) as Record<Feature, Spread>;
	const curve = Array.from({ length: FINGERPRINT_POINTS }, (_, i) =>
		spreadOf(
			repeated.map((group) => group.map((one) => one.curve[i]!)),
			priorCurveSd(i),
			Z.curve
		)
	);
	return {
		method: FINGERPRINT_METHOD,
		axis,
		lots: repeated.length,
		roasts,
		features,
		curve,
		because: becauseOf(repeated.length, roasts)
	};
}

/** Groups of at least two fingerprints that can be compared with each other. */
export function repeatsOn(
	groups: readonly (readonly Fingerprint[])[],
	axis: FingerprintAxis
): Fingerprint[][] {
	return groups
		.map((group) => group.filter((one) => one.axis === axis && one.method === FINGERPRINT_METHOD))
		.filter((group) => group.length > 1);
}

function spreadOf(
	groups: readonly (readonly (number | null)[])[],
	priorSd: number,
	z: number
): Spread {
	let squares = 0;
	let repeatFreedom = 0;
	for (const group of groups) {
		const values = group.filter((value) => value !== null);
		if (values.length < 2) continue;
		const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
		for (const value of values) squares += (value - mean) ** 2;
		repeatFreedom += values.length - 1;
	}
	const priorFreedom = repeatFreedom < ENOUGH_FREEDOM ? PRIOR_FREEDOM : 0;
	const freedom = repeatFreedom + priorFreedom;
	const sd = Math.sqrt((squares + priorFreedom * priorSd ** 2) / freedom);
	return {
		sd,
		repeatFreedom,
		freedom,
		limit: studentT(freedom, z) * Math.SQRT2 * sd,
		from: priorFreedom === 0 ? 'repeats' : repeatFreedom === 0 ? 'prior' : 'repeats and prior'
	};
}

function priorCurveSd(point: number): number {
	const place = Math.max(0, Math.min(PRIOR_CURVE_SD.length - 1, (point - 4) / 8));
	const left = Math.min(Math.floor(place), PRIOR_CURVE_SD.length - 2);
	const from = PRIOR_CURVE_SD[left]!;
	return from + (place - left) * (PRIOR_CURVE_SD[left + 1]! - from);
}

/**
 * The point of Student's t that is as rare as `z` is of the normal distribution, by the series about that
 * (Abramowitz and Stegun 26.7.5, from memory). Within 1 % from 6 degrees of freedom on, which the prior
 * sees to, for a `z` of up to 3.1.
 */
export function studentT(freedom: number, z: number): number {
	const terms = [
		(z ** 3 + z) / 4,
		(5 * z ** 5 + 16 * z ** 3 + 3 * z) / 96,
		(3 * z ** 7 + 19 * z ** 5 + 17 * z ** 3 - 15 * z) / 384,
		(79 * z ** 9 + 776 * z ** 7 + 1482 * z ** 5 - 1920 * z ** 3 - 945 * z) / 92160
	];
	return terms.reduce((sum, term, i) => sum + term / freedom ** (i + 1), z);
}

function becauseOf(lots: number, roasts: number): string {
	if (lots === 0) {
		return 'No lot has been roasted twice: the spread is assumed from simulated roasts. Roast a lot again to learn your own.';
	}
	const found = `${roasts} sample roasts of ${lots} ${lots === 1 ? 'lot' : 'lots'}`;
	const freedom = roasts - lots;
	if (freedom >= ENOUGH_FREEDOM) return `From ${found}.`;
	const more = ENOUGH_FREEDOM - freedom;
	return `From ${found} and an assumed spread from simulated roasts; ${more} more ${more === 1 ? 'repeat' : 'repeats'} and your own stand alone.`;
}

/** One feature of two roasts against the repeatability limit. */
export interface FeatureDifference {
	readonly feature: Feature;
	/** The second less the first; null when either has none. */
	readonly difference: number | null;
	readonly limit: number;
	/** Further apart than two roasts of one lot (rule 3). */
	readonly real: boolean;
}

/** Each feature of `a` against that of `b`. Throws when the two can't be compared. */
export function differenceIsReal(
	a: Fingerprint,
	b: Fingerprint,
	repeatability: Repeatability
): FeatureDifference[] {
	requireAlike(repeatability, a, b);
	return FEATURES.map((feature) => {
		const from = a.features[feature];
		const to = b.features[feature];
		const { limit } = repeatability.features[feature];
		const difference = from === null || to === null ? null : to - from;
		return {
			feature,
			difference,
			limit,
			real: difference !== null && Math.abs(difference) > limit
		};
	});
}

/** A stretch of the curve where two roasts differ, C. */
export interface DifferentSpan {
	readonly fromC: number;
	readonly toC: number;
	/** Whether the second releases more or less than the first there. */
	readonly second: 'more' | 'less';
}

/** Stretches of at least 5 C over which `b` lies outside the limit around `a`, where both are known. */
export function differentSpans(
	a: Fingerprint,
	b: Fingerprint,
	repeatability: Repeatability
): DifferentSpan[] {
	requireAlike(repeatability, a, b);
	const fromC = Math.max(a.knownFromC, b.knownFromC);
	const toC = Math.min(a.knownToC, b.knownToC);
	const side = (i: number) => {
		const middleC = pointC(a.axis, i);
		if (i >= FINGERPRINT_POINTS || middleC < fromC || middleC > toC) return 0;
		const apart = b.curve[i]! - a.curve[i]!;
		return Math.abs(apart) > repeatability.curve[i]!.limit ? Math.sign(apart) : 0;
	};
	const spans: DifferentSpan[] = [];
	let start = 0;
	for (let i = 1; i <= FINGERPRINT_POINTS; i++) {
		if (side(i) === side(start)) continue;
		if (side(start) !== 0 && i - start >= LEAST_SPAN_C) {
			const second = side(start) > 0 ? 'more' : 'less';
			spans.push({ fromC: pointC(a.axis, start) - 0.5, toC: pointC(a.axis, i) - 0.5, second });
		}
		start = i;
	}
	return spans;
}

/** Lowest and highest release, per mille a degree, between which a second roast of the lot stays all along in
 * 19 of 20 cases (rule 4): outside it, a difference is real. */
export interface Band {
	readonly low: readonly number[];
	readonly high: readonly number[];
}

/** The band around one roast's curve. Throws when the two can't be compared. */
export function bandOf(fingerprint: Fingerprint, repeatability: Repeatability): Band {
	requireAlike(repeatability, fingerprint);
	const limits = repeatability.curve.map(({ limit }) => limit);
	return {
		low: fingerprint.curve.map((value, i) => Math.max(0, value - limits[i]!)),
		high: fingerprint.curve.map((value, i) => value + limits[i]!)
	};
}

function requireAlike(repeatability: Repeatability, ...fingerprints: readonly Fingerprint[]): void {
	for (const { axis, method } of fingerprints) {
		if (axis === repeatability.axis && method === repeatability.method) continue;
		throw new RangeError(
			`a fingerprint by ${axis} temperature, ${method}, can't be judged by a repeatability by ` +
				`${repeatability.axis} temperature, ${repeatability.method}`
		);
	}
}

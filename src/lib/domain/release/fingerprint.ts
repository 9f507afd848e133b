/**
 * The fingerprint of a lot: its release curve on a scale that makes lots comparable, and its features in
 * the trade's words.
 *
 * Rules:
 * 1. The curve lies on the temperature of the beans, a point a degree, not on time: how fast one sample
 *    was heated is the roaster's doing, at which temperature its water leaves is the lot's. On simulated
 *    lots the temperature axis put more lots of a kind side by side than time or share of the roast did.
 * 2. A point is the share of all released water that left within its degree. The total for a kilogram of
 *    charge is kept beside it where air flow and charge are known: a lot is known by it, too.
 * 3. Where the beans turned or were dropped a little inside the range, the outermost point known is held
 *    and the known span is said; where too much of the range is missing, there is no fingerprint.
 */
import { cumulativeTrapezoid } from '../curve/integrate.ts';
import { savgolFilter } from '../curve/smooth.ts';
import { bad, good, type Outcome } from '../quantity/problem.ts';
import { figure } from './finding.ts';
import type { SampleReading } from './reading.ts';
import { valueAt } from './shares.ts';

/** Raised whenever a fingerprint of the same reading can change. */
export const FINGERPRINT_METHOD = 'fingerprint-1';
export const FINGERPRINT_POINTS = 128;

export type FingerprintAxis = 'bean' | 'exhaust';

/** Lowest temperature of the range, C; it goes on for 128 degrees. */
export const AXIS_FROM_C: Readonly<Record<FingerprintAxis, number>> = { bean: 80, exhaust: 100 };

/** Degrees that may be held at either end (rule 3). */
const MOST_HELD = { below: 30, above: 15 } as const;
/** The curve is blurred by this much, C, to hold down what taking the sensor's lag off left of its noise. */
const BLUR_C = 2;
const BLUR_REACH = 6;
/** Temperature is smoothed over so many seconds before it becomes the axis. */
const TEMPERATURE_WINDOW_S = 21;
/** Degrees above the start of the range between which the middle's slope is taken: 130 to 180 C bean. */
const MIDDLE = { from: 50, to: 100 } as const;

/** Features of a release curve, in the order in which a page shows them. */
export const FEATURES = [
	/** Share of the water that left in the first half of the time before the crack, 0 to 1. */
	'earlyShare',
	/** Rise of the release through the middle for each 10 C, over its mean there; .1 is 10 %. */
	'middleSlope',
	/** 1 when every degree of the range has the same release, less the share of the water that would have
	 * to leave elsewhere to make it so. One less Hoover's index (1936, from memory). */
	'evenness',
	/** Burst over base where the burst is highest; 0 where no crack was found. */
	'crackProminence',
	/** Degrees from onset to end of the crack; null where none was found. */
	'crackWidthC',
	/** Temperature on the axis when half had cracked; null where none was found. */
	'crackTemperatureC',
	/** Water released for each kilogram of charge, g; null without air flow or charge. */
	'totalGPerKg'
] as const;
export type Feature = (typeof FEATURES)[number];
export type Features = Readonly<Record<Feature, number | null>>;

/** Plain data: JSON keeps it whole, and the curve fits a Float32Array to the last digit that is kept. */
export interface Fingerprint {
	readonly method: string;
	/** Method of the reading it was made from. */
	readonly readingMethod: string;
	readonly axis: FingerprintAxis;
	/** Per mille of all released water for each degree, lowest temperature first, 128 points. */
	readonly curve: readonly number[];
	/** Span that the sample really went through, C; outside it the curve is held. */
	readonly knownFromC: number;
	readonly knownToC: number;
	readonly features: Features;
}

/** Temperature in the middle of a point's degree, C. */
export function pointC(axis: FingerprintAxis, point: number): number {
	return AXIS_FROM_C[axis] + point + 0.5;
}

/**
 * The fingerprint of a reading. A reading without bean and exhaust temperature, or whose sample left out
 * too much of the range, has none; the problem says which.
 */
export function fingerprintOf(reading: SampleReading): Outcome<Fingerprint> {
	const { series } = reading;
	const measured = series.beanC ?? series.exhaustC;
	if (measured === null) {
		const message =
			'No bean or exhaust temperature in the log; expected one of them, since curves are compared by temperature.';
		return bad({ path: 'beanC', message });
	}
	const axis = series.beanC ? 'bean' : 'exhaust';
	const timeS = Float64Array.from(series.timeS);
	const temperatureC = smoothed(measured);
	const crossings = firstReached(temperatureC, AXIS_FROM_C[axis]);
	const known = knownPoints(crossings);
	if (known.below > MOST_HELD.below || known.above > MOST_HELD.above) {
		return outOfRange(axis, temperatureC);
	}
	const gone = cumulativeTrapezoid(timeS, series.rate);
	const raw = sharesByDegree(gone, crossings, known);
	const curve = blurred(raw).map((value) => Math.round(1e5 * value) / 1e5);
	const features: Features = {
		earlyShare: reading.shares.early,
		middleSlope: middleSlope(curve),
		evenness: evenness(curve),
		...crackFeatures(reading, timeS, temperatureC),
		totalGPerKg: totalGPerKg(reading)
	};
	return good({
		method: FINGERPRINT_METHOD,
		readingMethod: reading.method,
		axis,
		curve,
		knownFromC: AXIS_FROM_C[axis] + known.below,
		knownToC: AXIS_FROM_C[axis] + FINGERPRINT_POINTS - known.above,
		features
	});
}

function smoothed(values: readonly number[]): Float64Array {
	const column = Float64Array.from(values);
	if (column.length < TEMPERATURE_WINDOW_S) return column;
	return savgolFilter(column, { points: TEMPERATURE_WINDOW_S, order: 2 });
}

/** Places, with their fractions, at which each degree of the range was first reached after the turning
 * point; NaN where the beans were already hotter there or never got so hot. */
function firstReached(temperatureC: Float64Array, fromC: number): Float64Array {
	const crossings = new Float64Array(FINGERPRINT_POINTS + 1).fill(NaN);
	let place = turningPlace(temperatureC);
	for (let i = 0; i < crossings.length; i++) {
		const levelC = fromC + i;
		if (temperatureC[place]! > levelC && Number.isNaN(crossings[i - 1] ?? NaN)) continue;
		while (place < temperatureC.length && temperatureC[place]! < levelC) place++;
		if (place === temperatureC.length) break;
		const before = temperatureC[place - 1] ?? levelC;
		const step = temperatureC[place]! - before;
		crossings[i] = step > 0 ? place - 1 + (levelC - before) / step : place;
	}
	return crossings;
}

/** Place of the lowest temperature in the first third. */
function turningPlace(temperatureC: Float64Array): number {
	let lowest = 0;
	for (let i = 0; i < temperatureC.length / 3; i++) {
		if (temperatureC[i]! < temperatureC[lowest]!) lowest = i;
	}
	return lowest;
}

interface Known {
	/** Points at either end that the sample did not go through. */
	readonly below: number;
	readonly above: number;
}

function knownPoints(crossings: Float64Array): Known {
	const first = crossings.findIndex((place) => !Number.isNaN(place));
	const last = crossings.findLastIndex((place) => !Number.isNaN(place));
	if (first < 0) return { below: FINGERPRINT_POINTS, above: FINGERPRINT_POINTS };
	return { below: first, above: FINGERPRINT_POINTS - last };
}

function outOfRange(axis: FingerprintAxis, temperatureC: Float64Array): Outcome<Fingerprint> {
	const from = AXIS_FROM_C[axis] + MOST_HELD.below;
	const to = AXIS_FROM_C[axis] + FINGERPRINT_POINTS - MOST_HELD.above;
	const coldest = temperatureC[turningPlace(temperatureC)]!;
	const hottest = temperatureC.reduce((a, b) => Math.max(a, b), -Infinity);
	const message =
		`The ${axis} temperature goes from ${figure(coldest)} to ${figure(hottest)} C; expected ${from} C ` +
		`or less to ${to} C or more, else too little of the curve can be compared.`;
	return bad({ path: axis === 'bean' ? 'beanC' : 'exhaustC', message });
}

/** Per mille of all water within each degree, held outside what is known. */
function sharesByDegree(gone: Float64Array, crossings: Float64Array, known: Known): Float64Array {
	const places = Float64Array.from(gone, (_, i) => i);
	const goneAt = (crossing: number) => valueAt(places, gone, crossing);
	const perMille = 1000 / gone.at(-1)!;
	const shares = new Float64Array(FINGERPRINT_POINTS);
	const last = FINGERPRINT_POINTS - known.above - 1;
	for (let i = known.below; i <= last; i++) {
		shares[i] = perMille * (goneAt(crossings[i + 1]!) - goneAt(crossings[i]!));
	}
	shares.fill(shares[known.below]!, 0, known.below);
	shares.fill(shares[last]!, last + 1);
	return shares;
}

function blurred(values: Float64Array): number[] {
	return Array.from(values, (_, i) => {
		let sum = 0;
		let weights = 0;
		for (let k = -BLUR_REACH; k <= BLUR_REACH; k++) {
			const value = values[i + k];
			if (value === undefined) continue;
			const weight = Math.exp(-0.5 * (k / BLUR_C) ** 2);
			sum += weight * value;
			weights += weight;
		}
		return sum / weights;
	});
}

function middleSlope(curve: readonly number[]): number {
	const span = curve.slice(MIDDLE.from, MIDDLE.to);
	const mean = span.reduce((sum, value) => sum + value, 0) / span.length;
	const centre = (span.length - 1) / 2;
	let along = 0;
	let squares = 0;
	span.forEach((value, i) => {
		along += (i - centre) * value;
		squares += (i - centre) ** 2;
	});
	return (10 * along) / squares / mean;
}

function evenness(curve: readonly number[]): number {
	const total = curve.reduce((sum, value) => sum + value, 0);
	const apart = curve.reduce((sum, value) => sum + Math.abs(value / total - 1 / curve.length), 0);
	return 1 - apart / 2;
}

function crackFeatures(
	{ crack }: SampleReading,
	timeS: Float64Array,
	temperatureC: Float64Array
): Pick<Features, 'crackProminence' | 'crackWidthC' | 'crackTemperatureC'> {
	const { onsetS, peakS, endS } = crack;
	const at = (seconds: number) => valueAt(timeS, temperatureC, seconds);
	return {
		crackProminence: crack.prominence ?? 0,
		crackWidthC: onsetS === null || endS === null ? null : at(endS) - at(onsetS),
		crackTemperatureC: peakS === null ? null : at(peakS)
	};
}

function totalGPerKg({ waterReleasedG, inputs }: SampleReading): number | null {
	if (waterReleasedG === null || inputs.chargeG === null || !(inputs.chargeG > 0)) return null;
	return (1000 * waterReleasedG) / inputs.chargeG;
}

/** A fingerprint from stored JSON. One of another method, or not whole, is a problem: read it again. */
export function parseFingerprint(json: string): Outcome<Fingerprint> {
	let found: Partial<Fingerprint> | null;
	try {
		found = JSON.parse(json) as Partial<Fingerprint> | null;
	} catch {
		return bad({ path: 'fingerprint', message: 'The stored fingerprint is not JSON.' });
	}
	const method = found?.method;
	if (method !== FINGERPRINT_METHOD) {
		const message = `The stored fingerprint is of method ${method}; expected ${FINGERPRINT_METHOD}.`;
		return bad({ path: 'fingerprint, method', message });
	}
	const { curve, features, axis } = found!;
	const whole =
		(axis === 'bean' || axis === 'exhaust') &&
		curve?.length === FINGERPRINT_POINTS &&
		curve.every(Number.isFinite) &&
		FEATURES.every((name) => features?.[name] === null || Number.isFinite(features?.[name]));
	if (whole) return good(found as Fingerprint);
	const message = `The stored fingerprint is not whole; expected ${FINGERPRINT_POINTS} points and every feature.`;
	return bad({ path: 'fingerprint', message });
}

/**
 * How slow the humidity sensor is: given, or estimated from a logged step of the air, or assumed.
 *
 * When the air steps, the humidity ratio behind the sensor steps at once, by a known factor, while the
 * release carries on smoothly. With the right lag the step leaves no trace in the release.
 */
import { rescaleBehindLag } from './lag.ts';
import type { ReadingInputs } from './reading.ts';

export interface SensorLag {
	readonly lagS: number;
	readonly from: ReadingInputs['sensorLagFrom'];
	/** Standard error, s; nought when given. */
	readonly errorS: number;
}

/** Assumed when nothing better is known: humidity sensors behind a cap take 5 to 15 s (common
 * practice, no source). */
export const DEFAULT_LAG: SensorLag = { lagS: 10, from: 'default', errorS: 3 };

const LEAST_STEP = 0.04;
/** Seconds looked at before and after the step. */
const BEFORE_S = 30;
const AFTER_S = 60;
/** An estimate less certain than this is no better than the assumption. */
const MOST_ERROR_S = 2;
const LAGS_S = Array.from({ length: 39 }, (_, i) => 1 + i / 2);

/** The lag to use for a log: `givenS`, else by its clearest step before place `before`. */
export function sensorLag(
	givenS: number | null,
	excess: Float64Array,
	factor: Float64Array,
	before: number
): SensorLag {
	if (givenS !== null) return { lagS: givenS, from: 'given', errorS: 0 };
	const step = largestStep(factor, before);
	return (step === null ? null : lagFromStep(excess, factor, step)) ?? DEFAULT_LAG;
}

function largestStep(factor: Float64Array, before: number): number | null {
	let best: number | null = null;
	let size = LEAST_STEP;
	for (let i = BEFORE_S; i < Math.min(before, factor.length - AFTER_S); i++) {
		const change = Math.abs(Math.log(factor[i]! / factor[i - 1]!));
		if (change > size) {
			size = change;
			best = i;
		}
	}
	return best;
}

/** The lag that leaves the smoothest release around a step, or null when it can't be told. */
function lagFromStep(excess: Float64Array, factor: Float64Array, step: number): SensorLag | null {
	const from = step - BEFORE_S;
	const shown = excess.subarray(from, step + AFTER_S);
	const around = factor.subarray(from, step + AFTER_S);
	const rough = LAGS_S.map((lagS) => roughness(rescaleBehindLag(shown, around, lagS)));
	const best = rough.indexOf(Math.min(...rough));
	if (best <= 0 || best >= rough.length - 1) return null;
	const bend = rough[best - 1]! - 2 * rough[best]! + rough[best + 1]!;
	const place = best + (rough[best - 1]! - rough[best + 1]!) / (2 * bend);
	const variance = rough[best]! / (shown.length - CURVE_DEGREE - 2);
	const gridS = LAGS_S[1]! - LAGS_S[0]!;
	const errorS = gridS * Math.sqrt((2 * variance) / bend);
	if (!(errorS <= MOST_ERROR_S)) return null;
	return { lagS: LAGS_S[0]! + gridS * place, from: 'estimated', errorS };
}

const CURVE_DEGREE = 4;

/** Sum of squares that a polynomial of degree 4 leaves of a series. */
function roughness(series: Float64Array): number {
	const rest = series.slice();
	const basis: Float64Array[] = [];
	for (let k = 0; k <= CURVE_DEGREE; k++) {
		const next = series.map((_, i) => ((2 * i) / (series.length - 1) - 1) ** k);
		for (const earlier of basis) takeOff(next, earlier);
		const length = Math.hypot(...next);
		basis.push(next.map((value) => value / length));
		takeOff(rest, basis[k]!);
	}
	return rest.reduce((sum, value) => sum + value * value, 0);
}

function takeOff(series: Float64Array, direction: Float64Array) {
	let share = 0;
	for (let i = 0; i < series.length; i++) share += series[i]! * direction[i]!;
	for (let i = 0; i < series.length; i++) series[i]! -= share * direction[i]!;
}

/**
 * First crack from the release curve.
 *
 * Rules:
 * 1. The half-cracked moment is sought where the bean probe reads 183 to 211 C; without one, where the
 *    exhaust does, more widely; without either, in the later part of the roast.
 * 2. A crack is distinct when its burst stands well out of the base release and of what the fit
 *    leaves unexplained, and no plain step explains the curve better; weak when it stands out less.
 * 3. Sureness is the chance that the verdict holds and the moment is within 5 s, as far as noise, fit
 *    and lag tell; onset, peak and end have one each, since the ends of a burst are told less well than
 *    its middle.
 */
import { BURST_MODEL, burstShape, fitBurst, type BurstFit, type BurstModel } from './burst.ts';
import { figure } from './finding.ts';
import type { SensorLag } from './lagEstimate.ts';
import type { CrackMarks, CrackReading, CrackVerdict } from './reading.ts';
import { valueAt } from './shares.ts';

/** The window of the fit begins here, C, long before the crack, so that the base is well known. */
const WINDOW_FROM_C = 135;
/** Where the half-cracked moment is sought, C (rule 1). */
const GATE_C = { bean: { from: 183, to: 211 }, exhaust: { from: 190, to: 235 } } as const;
/** The same without any temperature, as shares of the roast's time. */
const BLIND = { windowFrom: 0.4, from: 0.6, to: 0.98 } as const;

/** A burst whose middle is closer to the drop than this can't be told from a rise of the base. */
const END_MARGIN_S = 12;

/** A distinct burst stands at least so high over the base, and so far out of the residual (rule 2). */
const DISTINCT = { prominence: 0.18, signal: 7 } as const;
/** Below this there is nothing to be found: bursts of this size turn up where nothing cracks. */
const WEAK = { prominence: 0.04, signal: 5.2 } as const;

/** Standard error of the half-cracked moment from the shape of the base, s: the spread found on
 * simulated roasts with next to no noise. */
const SHAPE_ERROR_S = 1.2;
/** The same where the drop cuts the crack off, likewise. */
const CUT_OFF_ERROR_S = 5;
/** What onset and end add to that: cracking is no even bell in time, and the sooner the roast ends after
 * it the less of its end is seen. Likewise; mean errors of 1 s early and 4 s late are within. */
const MARK_ERROR_S = { onset: 2.2, end: 4.5 } as const;
/** Seconds by which the moment comes earlier for each second of lag, likewise. */
export const EARLIER_PER_LAG = 0.7;
/** Beans that have cracked at onset and end: 5 and 95 %, in standard deviations of a bell. */
const ONSET_SPREADS = 1.645;

/** What the search is made on, a value a second. */
export interface CrackCurve {
	readonly timeS: Float64Array;
	/** Release behind the sensor's lag, not smoothed. */
	readonly shown: Float64Array;
	/** Release with the lag taken off, same unit. */
	readonly released: Float64Array;
	readonly noise: number;
	readonly temperatureC: Float64Array | null;
	readonly temperatureFrom: 'bean' | 'exhaust' | null;
	readonly lag: SensorLag;
}

/** The best burst with the figures that the verdict rests on. */
export interface CrackEvidence {
	/** Seconds from charge. */
	readonly halfCrackedS: number;
	readonly spreadS: number;
	/** Burst on the grid of the curve, in its unit. */
	readonly burst: Float64Array;
	/** Burst over base where the burst is highest. */
	readonly prominence: number;
	readonly fit: BurstFit;
	/** Residual of the fit over the noise of the signal. */
	readonly misfit: number;
}

interface Gate {
	readonly windowFrom: number;
	readonly from: number;
	readonly to: number;
}

/** Places of the window and of the gate (rule 1), or null when the roast never gets there. */
export function crackGate(curve: CrackCurve): Gate | null {
	const { temperatureC, temperatureFrom, timeS } = curve;
	const count = timeS.length;
	if (temperatureC === null || temperatureFrom === null) {
		const place = (share: number) => Math.round(share * (count - 1));
		return {
			windowFrom: place(BLIND.windowFrom),
			from: place(BLIND.from),
			to: place(BLIND.to)
		};
	}
	const gate = GATE_C[temperatureFrom];
	const start = coldest(temperatureC);
	const firstFrom = (levelC: number, place: number) => {
		let i = place;
		while (i < count && !(temperatureC[i]! >= levelC)) i++;
		return i;
	};
	const windowFrom = firstFrom(WINDOW_FROM_C, start);
	const from = firstFrom(gate.from, windowFrom);
	if (from >= count) return null;
	return { windowFrom, from, to: Math.min(firstFrom(gate.to, from), count - 1 - END_MARGIN_S) };
}

/** Place of the lowest temperature in the first third: the turning point of a probe. */
function coldest(temperatureC: Float64Array): number {
	let lowest = 0;
	for (let i = 0; i < temperatureC.length / 3; i++) {
		if (temperatureC[i]! < temperatureC[lowest]!) lowest = i;
	}
	return lowest;
}

/** The best burst within the gate, or null when there is none, or no base for it to stand on. */
export function crackEvidence(
	curve: CrackCurve,
	gate: Gate,
	model: BurstModel = BURST_MODEL
): CrackEvidence | null {
	const { windowFrom, from, to } = gate;
	const shown = curve.shown.subarray(windowFrom);
	const fit = fitBurst(shown, curve.lag.lagS, from - windowFrom, to - windowFrom, model);
	if (!fit) return null;
	const place = windowFrom + fit.place;
	const burst = burstShape(curve.timeS.length, place, fit.spreadS);
	let top = 0;
	for (let i = 0; i < burst.length; i++) {
		burst[i]! *= fit.area;
		if (burst[i]! > burst[top]!) top = i;
	}
	const base = curve.released[top]! - burst[top]!;
	if (!(base > 0)) return null;
	return {
		halfCrackedS: curve.timeS[0]! + place,
		spreadS: fit.spreadS,
		burst,
		prominence: burst[top]! / base,
		fit,
		misfit: fit.residual / Math.max(curve.noise, 1e-12)
	};
}

/** A reading of the crack and its burst on the grid; the burst is nought where none was found. */
export interface CrackFound {
	readonly crack: CrackReading;
	readonly burst: Float64Array;
}

/** Reads first crack from a curve (rules 1 to 3). */
export function readCrack(curve: CrackCurve): CrackFound {
	const gate = crackGate(curve);
	if (!gate) return nothing(curve, neverHotEnough(curve), 0.9);
	const evidence = crackEvidence(curve, gate);
	if (!evidence) return nothing(curve, [noBurst(curve, gate)], 0.8);
	const verdict = verdictOf(curve, evidence);
	const because = reasons(curve, gate, evidence, verdict);
	if (verdict === 'none') return nothing(curve, because, sureOfNone(evidence));
	const marks = sureOfMarks(curve, evidence);
	const half = evidence.halfCrackedS;
	const width = ONSET_SPREADS * evidence.spreadS;
	const first = curve.timeS[0]!;
	const last = curve.timeS.at(-1)!;
	const crack: CrackReading = {
		verdict,
		onsetS: Math.max(first, half - width),
		peakS: half,
		endS: Math.min(last, half + width),
		temperatureC: curve.temperatureC && valueAt(curve.timeS, curve.temperatureC, half),
		temperatureFrom: curve.temperatureFrom,
		prominence: evidence.prominence,
		sureness: marks.peak,
		markSureness: marks,
		because
	};
	return { crack, burst: evidence.burst };
}

/** Sureness of each moment of a burst that was found (rule 3). */
function sureOfMarks(curve: CrackCurve, evidence: CrackEvidence): CrackMarks {
	const moment = momentError(curve, evidence);
	const width = ONSET_SPREADS * evidence.fit.spreadError;
	const sure = (error: number) => chanceWithin(MOMENT_WITHIN_S, error) * sureOfBurst(evidence);
	return {
		onset: sure(Math.hypot(moment, width, MARK_ERROR_S.onset)),
		peak: sure(moment),
		end: sure(Math.hypot(moment, width, MARK_ERROR_S.end))
	};
}

function verdictOf(curve: CrackCurve, evidence: CrackEvidence): CrackVerdict {
	const { fit, prominence } = evidence;
	const atLeast = (least: { prominence: number; signal: number }) =>
		prominence >= least.prominence && fit.signal >= least.signal;
	if (!atLeast(WEAK)) return 'none';
	const blind = curve.temperatureFrom === null;
	return atLeast(DISTINCT) && !looksLikeStep(evidence) && !blind ? 'distinct' : 'weak';
}

function looksLikeStep({ fit }: CrackEvidence): boolean {
	return fit.step.signal > fit.signal;
}

/** The moment is asked for to this many seconds (rule 3). */
const MOMENT_WITHIN_S = 5;

/** Standard error of the half-cracked moment, s. */
function momentError(curve: CrackCurve, evidence: CrackEvidence): number {
	return Math.hypot(
		SHAPE_ERROR_S,
		evidence.fit.placeError,
		EARLIER_PER_LAG * curve.lag.errorS,
		isCutOff(curve, evidence) ? CUT_OFF_ERROR_S : 0
	);
}

/** Whether the roast ended before the last beans had cracked. */
function isCutOff(curve: CrackCurve, { halfCrackedS, spreadS }: CrackEvidence): boolean {
	return halfCrackedS + ONSET_SPREADS * spreadS > curve.timeS.at(-1)!;
}

/** Chance that a normal error of this size is within so many seconds. */
function chanceWithin(seconds: number, error: number): number {
	const z = seconds / error;
	// Logistic stand-in for the normal distribution, within .0002 of it (Bowling and others, 2009).
	return 2 / (1 + Math.exp(-0.07056 * z ** 3 - 1.5976 * z)) - 1;
}

/** 0.5 at the least burst that counts, near 1 where a burst is as clear as a distinct one. */
function sureOfBurst(evidence: CrackEvidence): number {
	const clear = (evidence.fit.signal - WEAK.signal) / (DISTINCT.signal - WEAK.signal);
	const sure = 0.5 + 0.49 * Math.max(0, Math.min(1, clear));
	return looksLikeStep(evidence) ? Math.min(sure, 0.5) : sure;
}

/** High where a distinct burst could not have hidden in the residual. */
function sureOfNone(evidence: CrackEvidence): number {
	const hidden = (DISTINCT.signal * evidence.prominence) / Math.max(evidence.fit.signal, 1e-9);
	return 0.95 * Math.min(1, DISTINCT.prominence / Math.max(hidden, 1e-9));
}

function nothing(curve: CrackCurve, because: readonly string[], sureness: number): CrackFound {
	const crack: CrackReading = {
		verdict: 'none',
		onsetS: null,
		peakS: null,
		endS: null,
		temperatureC: null,
		temperatureFrom: null,
		prominence: null,
		sureness,
		markSureness: null,
		because
	};
	return { crack, burst: new Float64Array(curve.timeS.length) };
}

function neverHotEnough(curve: CrackCurve): string[] {
	const from = curve.temperatureFrom ?? 'bean';
	const highest = curve.temperatureC!.reduce((a, b) => Math.max(a, b), -Infinity);
	return [
		`The ${from} temperature reached ${figure(highest)} C; a crack is looked for from ${GATE_C[from].from} C.`
	];
}

function spanText(curve: CrackCurve, gate: Gate): string {
	const times = `${Math.round(curve.timeS[gate.from]!)} to ${Math.round(curve.timeS[gate.to]!)} s`;
	if (curve.temperatureFrom === null) return times;
	const { from, to } = GATE_C[curve.temperatureFrom];
	return `${times} (${curve.temperatureFrom} ${from} to ${to} C)`;
}

function noBurst(curve: CrackCurve, gate: Gate): string {
	return `Nothing rises above the base release from ${spanText(curve, gate)}.`;
}

/** Why this verdict, data first. */
function reasons(
	curve: CrackCurve,
	gate: Gate,
	evidence: CrackEvidence,
	verdict: CrackVerdict
): string[] {
	const { fit, prominence, halfCrackedS } = evidence;
	const height = `${Math.round(100 * prominence)} %`;
	const signal = `${figure(fit.signal)} times its standard error`;
	if (verdict === 'none') {
		return [
			`From ${spanText(curve, gate)} the largest burst is ${height} of the base release, ${signal}: ` +
				`less than ${100 * WEAK.prominence} % or ${WEAK.signal} times is found where nothing cracks.`
		];
	}
	const error = momentError(curve, evidence);
	const because = [
		`The release rises ${height} above its base, ${signal}.`,
		`Half cracked at ${Math.round(halfCrackedS)} s, give or take ${figure(error)} s.`
	];
	if (verdict === 'weak' && prominence < DISTINCT.prominence) {
		because.push(`A distinct crack rises ${100 * DISTINCT.prominence} % or more.`);
	}
	if (verdict === 'weak' && fit.signal < DISTINCT.signal) {
		because.push(`A distinct crack stands out ${DISTINCT.signal} times or more.`);
	}
	if (looksLikeStep(evidence)) {
		const atS = curve.timeS[gate.windowFrom]! + fit.step.place;
		because.push(
			`A plain step of the level at ${Math.round(atS)} s explains the curve better than a burst: a ` +
				'change of the air that was not logged would do that.'
		);
	}
	if (curve.temperatureFrom === null) {
		because.push('Without a temperature, no burst is called distinct.');
	}
	if (isCutOff(curve, evidence)) because.push('The roast ended before the crack was over.');
	if (curve.lag.from !== 'given') because.push(lagText(curve.lag));
	return because;
}

function lagText(lag: SensorLag): string {
	const how = lag.from === 'estimated' ? 'estimated from a step of the air' : 'assumed';
	return (
		`The sensor's lag of ${figure(lag.lagS)} s is ${how}: each second that it is longer puts the ` +
		`crack ${EARLIER_PER_LAG} s earlier.`
	);
}

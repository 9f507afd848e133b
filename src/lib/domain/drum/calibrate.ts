/**
 * Calibrates a drum on logs of batches roasted in it.
 *
 * H4 The parameters are those with the least sum of squares between modelled and logged bean probe, from
 *    where the probe has left the empty drum's heat behind. Where a log says little of one, it stays near a
 *    usual value, and its standard error says so.
 * H5 Neighbouring residuals are not independent: the errors are widened for it.
 * H6 A poor fit is no ground for advice: it is refused, with the figure.
 */
import { bad, good, type Outcome, type Problem } from '../quantity/problem.ts';
import { leastSquares, standardErrors, type LeastSquaresFit } from '../stats/leastSquares.ts';
import { DRUM_PARAMETERS, modelledProbe, type DrumFacts, type DrumParameter } from './heatModel.ts';
import { MODEL_LATENT_KJ_PER_KG } from './beanHeat.ts';
import type { LotHeat } from './lotHeat.ts';
import type { DrumReading } from './reading.ts';

/** A batch to calibrate on. */
export interface DrumBatch {
	/** For a person: `HR-105 test 3`. */
	readonly label: string;
	readonly reading: DrumReading;
	readonly lot: LotHeat;
}

export interface CalibrationOptions {
	/** kJ/kg; the model's unless given. */
	readonly latentKJPerKg?: number;
	readonly roomC?: number;
}

export interface FittedParameter {
	readonly name: DrumParameter;
	/** In its own unit, not its logarithm. */
	readonly value: number;
	/** Relative for the logarithmic ones, 0.1 is 10 %; of the value itself for `reaction`. */
	readonly standardError: number;
	/** Share of what was known beforehand that the logs replaced, 0 to 1. */
	readonly learnt: number;
}

export interface DrumCalibration {
	readonly parameters: readonly number[];
	readonly covariance: Float64Array;
	readonly fitted: readonly FittedParameter[];
	/** Root mean square of modelled less logged probe, C. */
	readonly rmsC: number;
	readonly batches: readonly string[];
	/** Seconds of logs that were compared. */
	readonly seconds: number;
	readonly latentKJPerKg: number;
	readonly roomC: number;
}

/** Above this the fit is called poor and no advice is given, C. */
export const POOR_FIT_C = 1.5;
/** The fit starts here: the probe's fall from the drum is not the beans', s. */
export const COMPARED_FROM_S = 30;
const EVERY_S = 5;
/** What a model of this kind misses at its best, C. */
const SCATTER_C = 0.6;
/** Residuals within so long count as one, s. */
const CORRELATED_S = 60;
/** Share of the gas's range that the gas must have moved for its effect to be told. */
const LEAST_GAS_SPREAD_PCT = 4;

/** A fit this close needs no second try, C. */
const GOOD_FIT_C = 0.9;
const SECOND_START = [-0.5, -1, 3, -2, 0, 1];
/** Standard deviations from the usual beyond which a parameter is not believed. */
const MOST_FROM_USUAL = 3.5;

interface Known {
	readonly mean: number;
	readonly sd: number;
}

/** Usual values of a drum and how far they may be off, as logarithms but for the last (ours). */
const USUAL: readonly Known[] = [
	{ mean: Math.log(0.002), sd: 0.5 },
	{ mean: Math.log(500), sd: 0.3 },
	{ mean: Math.log(0.008), sd: 0.6 },
	{ mean: Math.log(0.8), sd: 0.5 },
	{ mean: Math.log(30), sd: 0.4 },
	{ mean: 1.2, sd: 0.35 }
];

/**
 * The drum's parameters from batches of lots whose release is known. Fails where a log has no gas or air,
 * where the gas never moved, and where the fit is poor (H6).
 */
export function calibrateDrum(
	batches: readonly DrumBatch[],
	options: CalibrationOptions = {}
): Outcome<DrumCalibration> {
	const latentKJPerKg = options.latentKJPerKg ?? MODEL_LATENT_KJ_PER_KG;
	const roomC = options.roomC ?? 22;
	const problems = batches.flatMap(batchProblems);
	if (batches.length === 0)
		problems.push({ path: 'log', message: 'There is no drum log to calibrate on.' });
	if (problems.length > 0) return bad(...problems);
	const facts = batches.map((batch) => factsOf(batch, latentKJPerKg, roomC));
	const compared = batches.map(({ reading }) => comparedSeconds(reading));
	const residuals = (parameters: readonly number[]) => {
		const parts = facts.map((fact, b) => {
			const probe = modelledProbe(parameters, fact);
			const bean = batches[b]!.reading.series.beanC;
			return compared[b]!.map((t) => probe[t]! - bean[t]!);
		});
		return Float64Array.from(parts.flat());
	};
	const known = USUAL.with(1, inletKnown(batches, roomC) ?? USUAL[1]!);
	const { fit, rmsC } = bestFit(known, residuals);
	const poor = poorFit(fit.parameters, rmsC);
	if (poor) return bad(poor);
	return good({
		parameters: fit.parameters,
		covariance: fit.covariance,
		fitted: fittedOf(fit.parameters, fit.covariance),
		rmsC,
		batches: batches.map(({ label }) => label),
		seconds: EVERY_S * fit.residuals.length,
		latentKJPerKg,
		roomC
	});
}

/** From the usual values; once more from a cooler, quicker drum where that leads nowhere. */
function bestFit(
	known: readonly Known[],
	residuals: (parameters: readonly number[]) => Float64Array
): { readonly fit: LeastSquaresFit; readonly rmsC: number } {
	const from = (start: readonly number[]) => {
		const fit = leastSquares({ start, residuals, known }, SCATTER_C, CORRELATED_S / EVERY_S);
		const squares = fit.residuals.reduce((sum, value) => sum + value * value, 0);
		return { fit, rmsC: Math.sqrt(squares / fit.residuals.length) };
	};
	const first = from(known.map(({ mean }) => mean));
	if (first.rmsC <= GOOD_FIT_C) return first;
	const second = from(known.map(({ mean, sd }, i) => mean + SECOND_START[i]! * sd));
	return second.rmsC < first.rmsC ? second : first;
}

const FAR_WORDS: Readonly<Record<DrumParameter, string>> = {
	air: 'heat from air to beans',
	inlet: 'heat of the inlet air',
	metal: 'heat from metal to beans',
	metalHeat: 'mass of metal',
	lag: 'lag of the probe',
	reaction: 'reaction heat'
};

/** Why a fit is no ground for advice, or null (H6). */
function poorFit(parameters: readonly number[], rmsC: number): Problem | null {
	if (!(rmsC <= POOR_FIT_C)) {
		const message = `The drum model misses the logs by ${rmsC.toFixed(1)} C; ${POOR_FIT_C} C or less was expected.`;
		return { path: 'fit', message };
	}
	const far = parameters.findIndex(
		(value, i) => Math.abs(value - USUAL[i]!.mean) > MOST_FROM_USUAL * USUAL[i]!.sd
	);
	if (far < 0) return null;
	const message = `The logs fit only with a ${FAR_WORDS[DRUM_PARAMETERS[far]!]} that can hardly be: gas, air or temperature in them may be wrong, or the lots too unlike.`;
	return { path: 'fit', message };
}

/**
 * How hot the inlet air gets for gas and air, where the logs have it: inlet = room + slope gas / air by
 * least squares. Null where no log has it, or it follows the gas poorly.
 */
function inletKnown(batches: readonly DrumBatch[], roomC: number): Known | null {
	let xy = 0;
	let xx = 0;
	let rows = 0;
	let misses = 0;
	const each = (take: (above: number, ratio: number) => void): void => {
		for (const { reading } of batches) {
			const { inletC, gasPct, airPct } = reading.series;
			if (inletC === null) continue;
			for (let t = 0; t < inletC.length; t += EVERY_S) {
				const [inlet, gas, air] = [inletC[t] ?? NaN, gasPct?.[t] ?? NaN, airPct?.[t] ?? NaN];
				if (Number.isFinite(inlet + gas) && air > 0) take(inlet - roomC, gas / air);
			}
		}
	};
	each((above, ratio) => {
		xy += above * ratio;
		xx += ratio * ratio;
		rows++;
	});
	const slope = xy / xx;
	if (rows < 20 || !(slope > 0)) return null;
	each((above, ratio) => (misses += Math.abs(above / (slope * ratio) - 1)));
	return misses / rows < 0.1 ? { mean: Math.log(slope), sd: 0.05 } : null;
}

function fittedOf(parameters: readonly number[], covariance: Float64Array): FittedParameter[] {
	const errors = standardErrors(covariance, parameters.length);
	return DRUM_PARAMETERS.map((name, i) => ({
		name,
		value: name === 'reaction' ? parameters[i]! : Math.exp(parameters[i]!),
		standardError: errors[i]!,
		learnt: Math.max(0, 1 - errors[i]! / USUAL[i]!.sd)
	}));
}

/** What a batch's log gives the model. */
export function factsOf(
	{ reading, lot }: Pick<DrumBatch, 'reading' | 'lot'>,
	latentKJPerKg: number,
	roomC: number
): DrumFacts {
	const { gasPct, airPct, beanC } = reading.series;
	return {
		lot,
		startC: beanC[0] ?? NaN,
		roomC,
		latentKJPerKg,
		gasPct: held(gasPct ?? []),
		airPct: held(airPct ?? [])
	};
}

/** A setting's gaps filled with what stood before. */
function held(values: readonly (number | null)[]): Float64Array {
	const result = new Float64Array(values.length);
	let before = values.find((value) => value !== null) ?? NaN;
	values.forEach((value, i) => {
		before = value ?? before;
		result[i] = before;
	});
	return result;
}

function comparedSeconds({ series }: DrumReading): number[] {
	const seconds: number[] = [];
	for (let t = COMPARED_FROM_S; t < series.timeS.length; t += EVERY_S)
		if (series.beanC[t] !== null && series.beanC[t] !== undefined) seconds.push(t);
	return seconds;
}

function batchProblems({ label, reading }: DrumBatch): Problem[] {
	const { gasPct, airPct, beanC } = reading.series;
	const lacks = (path: string, what: string): Problem => ({
		path,
		message: `The log of ${label} ${what}.`
	});
	if (gasPct === null) return [lacks('gasPct', 'has no gas')];
	if (airPct === null) return [lacks('airPct', 'has no air')];
	if (beanC[0] === null || beanC[0] === undefined)
		return [lacks('beanC', 'has no bean temperature at charge')];
	const known = gasPct.filter((value) => value !== null);
	if (Math.max(...known) - Math.min(...known) < LEAST_GAS_SPREAD_PCT)
		return [lacks('gasPct', 'has the gas at one place throughout: what it does can not be told')];
	if (held(airPct).some((value) => !(value > 0))) return [lacks('airPct', 'has air at nought')];
	if (reading.totalS < 300) return [lacks('time', 'is shorter than 5 minutes')];
	return [];
}

/**
 * A gas plan that should bring a lot along a reference's bean curve, with the band in which its bean probe
 * is expected.
 *
 * H7 What is predicted is a change against a batch that was roasted (the anchor): its log, plus what the
 *    model says that other gas and another lot's heat demand do. What the model misses in both cancels.
 * H8 The anchor of a lot's first test is the reference's log; once the lot was roasted itself, its own last
 *    log is the anchor.
 * H9 Gas stays within the roaster's stated limits and on its steps; steps keep the times of the reference's.
 * H10 The 80 % band holds what is not known of the drum, of the lot's water and of its reactions. How wide
 *    these are was set on simulated pairs of lots, apart from those that coverage is measured on.
 */
import { leastSquares, slopesOf } from '../stats/leastSquares.ts';
import { factsOf, type DrumBatch, type DrumCalibration } from './calibrate.ts';
import { DRUM_PARAMETERS, modelledCourse, modelledProbe, type DrumFacts } from './heatModel.ts';
import type { LotHeat } from './lotHeat.ts';

/** A gas setting from a time on. */
export interface GasStep {
	/** Seconds from charge. */
	readonly atS: number;
	readonly pct: number;
}

/** What a roaster's burner can be set to, % of its range. */
export interface GasLimits {
	readonly minPct: number;
	readonly maxPct: number;
	readonly stepPct: number;
}

export interface GasPlanInput {
	readonly calibration: DrumCalibration;
	/** The batch whose bean curve is to be followed, and its gas as it was set. */
	readonly reference: DrumBatch;
	readonly referenceSteps: readonly GasStep[];
	/** The lot's own last batch; null before its first (H8). */
	readonly own: DrumBatch | null;
	readonly lot: LotHeat;
	readonly limits: GasLimits;
	/** Seconds from charge before the gas steps count; until then the gas stays as the anchor's. */
	readonly soakS: number;
}

/** On a grid of whole seconds from charge. */
export interface PredictedCurve {
	readonly beanC: Float64Array;
	/** Standard deviation, C. */
	readonly sdC: Float64Array;
}

export interface GasPlan {
	readonly steps: readonly GasStep[];
	readonly proposed: PredictedCurve;
	readonly unchanged: PredictedCurve;
	readonly referenceC: readonly (number | null)[];
	/** Root mean square distance from the reference's curve that is expected, C. */
	readonly expectedC: { readonly proposed: number; readonly unchanged: number };
	/** Steps that a limit holds back, by their time. */
	readonly heldBackAtS: readonly number[];
	readonly anchor: string;
	/** Times the model's reaction heat, for the reference's lot and for this one. */
	readonly reactions: { readonly reference: number; readonly lot: number };
	/** Modelled temperature of the reference's beans themselves, C: ahead of their probe. */
	readonly referenceBeansC: Float64Array;
}

/** Half width of an 80 % band in standard deviations. */
export const BAND_80 = 1.2816;
/** The curves are compared from here on, s: before it the probe reads the drum. */
export const FOLLOW_FROM_S = 90;
const REACTION = DRUM_PARAMETERS.indexOf('reaction');
const EVERY_S = 5;
const SCATTER_C = 0.6;
/** How far a step may go from the reference's before that counts as one standard deviation, %. */
const GAS_SD_PCT = 12;

/** Standard deviations of what is not known of a lot beside another (H10; set on the tuning pairs). */
const LOT_SD = {
	reaction: 0.15,
	/** Where a sample has no inlet or exhaust air, so that the reactions of the lots are taken as alike. */
	reactionUnseen: 0.35,
	x0: 0.003,
	release: 0.05,
	/** Of the model's change itself, a share of it, and of two batches alike, C. */
	ofChange: 0.27,
	batchC: 0.6
} as const;

/** The plan, on its limits and steps. */
export function planGas(input: GasPlanInput): GasPlan {
	const { reference, referenceSteps, limits } = input;
	const referenceC = reference.reading.series.beanC;
	const start = referenceSteps.map(({ pct }) => clamp(pct, limits));
	const look = lookOf(input);
	const residualsFor = (pcts: readonly number[]): Float64Array => {
		const probe = look.predict(stepsWith(referenceSteps, pcts), look.parameters);
		return look.compared.map((t) => probe[t]! - referenceC[t]!);
	};
	const pcts = onGrid(start, residualsFor, limits);
	const steps = stepsWith(referenceSteps, pcts);
	const proposed = bandOf(look, steps);
	const unchanged = bandOf(look, referenceSteps);
	return {
		steps,
		proposed,
		unchanged,
		referenceC,
		expectedC: {
			proposed: expected(look, proposed, referenceC),
			unchanged: expected(look, unchanged, referenceC)
		},
		heldBackAtS: steps
			.filter(({ pct }) => pct <= limits.minPct || pct >= limits.maxPct)
			.map(({ atS }) => atS),
		anchor: (input.own ?? reference).label,
		...referenceOf(input)
	};
}

/** The reference's beans and both lots' reactions, as the calibrated drum has them. */
function referenceOf({ calibration, reference, lot }: GasPlanInput) {
	const { parameters, latentKJPerKg, roomC } = calibration;
	const reaction = parameters[REACTION]!;
	return {
		reactions: {
			reference: reaction,
			lot: reaction * (1 + reactionBetween(reference.lot, lot))
		},
		referenceBeansC: modelledCourse(parameters, factsOf(reference, latentKJPerKg, roomC)).beanC
	};
}

/** Root mean square distance of a roasted batch from the reference's curve, C; over both their times. */
export function missedBy(
	beanC: readonly (number | null)[],
	referenceC: readonly (number | null)[]
): number {
	let sum = 0;
	let count = 0;
	for (let t = FOLLOW_FROM_S; t < Math.min(beanC.length, referenceC.length); t++) {
		const apart = (beanC[t] ?? NaN) - (referenceC[t] ?? NaN);
		if (Number.isNaN(apart)) continue;
		sum += apart * apart;
		count++;
	}
	return Math.sqrt(sum / count);
}

interface Look {
	readonly parameters: readonly number[];
	readonly covariance: Float64Array;
	readonly compared: Float64Array;
	readonly isFirst: boolean;
	readonly seesReactions: boolean;
	readonly lot: LotHeat;
	/** How far the model goes from what was roasted, C: by the lot at first, later by the gas. */
	readonly changeOf: (beanC: Float64Array) => Float64Array;
	/** Bean probe, C, a second each up to the reference's drop. */
	readonly predict: (
		steps: readonly GasStep[],
		parameters: readonly number[],
		lot?: LotHeat,
		reactionShift?: number
	) => Float64Array;
}

function lookOf({ calibration, reference, referenceSteps, own, lot, soakS }: GasPlanInput): Look {
	const { latentKJPerKg, roomC, parameters, covariance } = calibration;
	const anchor = own ?? reference;
	const anchorFacts = factsOf(anchor, latentKJPerKg, roomC);
	const seconds = reference.reading.series.timeS.length;
	const facts = lengthened(anchorFacts, seconds);
	const logged = anchor.reading.series.beanC;
	const between = own ? 0 : parameters[REACTION]! * reactionBetween(reference.lot, lot);
	const predict: Look['predict'] = (steps, at, of = lot, reactionShift = 0) => {
		const shifted = at.with(REACTION, at[REACTION]! + between + reactionShift);
		const gasPct = gasOf(steps, facts.gasPct, soakS);
		const then = modelledProbe(own ? shifted : at, { ...facts, lot: own ? of : anchor.lot });
		const now = modelledProbe(shifted, { ...facts, lot: of, gasPct });
		let miss = 0;
		return now.map((value, t) => {
			const missed = (logged[t] ?? NaN) - then[t]!;
			if (Number.isFinite(missed)) miss = missed;
			return value + miss;
		});
	};
	const compared: number[] = [];
	for (let t = FOLLOW_FROM_S; t < seconds; t += EVERY_S)
		if (typeof reference.reading.series.beanC[t] === 'number') compared.push(t);
	const awayFromLog = (beanC: Float64Array) => {
		let change = 0;
		return beanC.map((value, t) => {
			const away = value - (logged[t] ?? NaN);
			if (Number.isFinite(away)) change = away;
			return change;
		});
	};
	const byLot = awayFromLog(predict(referenceSteps, parameters));
	return {
		parameters,
		covariance,
		changeOf: own ? awayFromLog : () => byLot,
		compared: Float64Array.from(compared),
		isFirst: own === null,
		seesReactions: lot.sampleHeat !== null && reference.lot.sampleHeat !== null,
		lot,
		predict
	};
}

/** The share by which a lot's reactions exceed the reference's, by their samples (H12); 0 where unknown. */
function reactionBetween(reference: LotHeat, lot: LotHeat): number {
	if (reference.sampleHeat === null || lot.sampleHeat === null) return 0;
	return lot.sampleHeat.reaction / reference.sampleHeat.reaction - 1;
}

/** Gas and air held on to so many seconds. */
function lengthened(facts: DrumFacts, seconds: number): DrumFacts {
	const longer = (values: ArrayLike<number>) =>
		Float64Array.from({ length: seconds }, (_, t) => values[Math.min(t, values.length - 1)]!);
	return { ...facts, gasPct: longer(facts.gasPct), airPct: longer(facts.airPct) };
}

/** Gas a second each; through the soak as the anchor's log has it, where that is lower. */
function gasOf(steps: readonly GasStep[], logged: ArrayLike<number>, soakS: number): Float64Array {
	return Float64Array.from({ length: logged.length }, (_, t) => {
		const asked = heldPct(steps, t);
		return t < soakS ? Math.min(asked, logged[t]!) : asked;
	});
}

/** Where the gas stands at a second; the first step counts before its time too. */
export function heldPct(steps: readonly GasStep[], second: number): number {
	let pct = steps[0]?.pct ?? 0;
	for (const step of steps) if (second >= step.atS) pct = step.pct;
	return pct;
}

function stepsWith(steps: readonly GasStep[], pcts: readonly number[]): GasStep[] {
	return steps.map(({ atS }, i) => ({ atS, pct: pcts[i]! }));
}

function clamp(pct: number, { minPct, maxPct }: GasLimits): number {
	return Math.min(maxPct, Math.max(minPct, pct));
}

/** Rounded step by step, each time letting the later ones make good for it (H9). */
function onGrid(
	start: readonly number[],
	residualsFor: (pcts: readonly number[]) => Float64Array,
	limits: GasLimits
): number[] {
	const fixed: number[] = [];
	let free = [...start];
	while (fixed.length < start.length) {
		const known = start.slice(fixed.length).map((mean) => ({ mean, sd: GAS_SD_PCT }));
		const residuals = (pcts: readonly number[]) =>
			residualsFor([...fixed, ...pcts.map((pct) => clamp(pct, limits))]);
		free = [...leastSquares({ start: free, residuals, known }, SCATTER_C).parameters];
		fixed.push(rounded(free.shift()!, limits));
	}
	return fixed;
}

function rounded(pct: number, limits: GasLimits): number {
	const { minPct, maxPct, stepPct } = limits;
	const steps = Math.round((clamp(pct, limits) - minPct) / stepPct);
	const most = Math.floor((maxPct - minPct) / stepPct + 1e-9);
	return Number((minPct + Math.min(most, steps) * stepPct).toFixed(6));
}

/** The prediction with its standard deviation, each unknown's share added in squares (H10). */
function bandOf(look: Look, steps: readonly GasStep[]): PredictedCurve {
	const { parameters, covariance, predict } = look;
	const beanC = predict(steps, parameters);
	const changeC = look.changeOf(beanC);
	const size = parameters.length;
	const slopes = slopesOf((at) => predict(steps, at), parameters, beanC);
	const shifts = lotShifts(look).map(({ of, reaction }) =>
		predict(steps, parameters, of, reaction)
	);
	const sdC = beanC.map((bean, t) => {
		let variance = LOT_SD.batchC ** 2 + (LOT_SD.ofChange * changeC[t]!) ** 2;
		for (let i = 0; i < size; i++)
			for (let j = 0; j < size; j++)
				variance += slopes[i]![t]! * covariance[i * size + j]! * slopes[j]![t]!;
		for (const shifted of shifts) variance += (shifted[t]! - bean) ** 2;
		return Math.sqrt(variance);
	});
	return { beanC, sdC };
}

/** The lot as it would be one standard deviation off in each of the things not known of it. */
function lotShifts({ lot, isFirst, seesReactions }: Look): { of: LotHeat; reaction: number }[] {
	const wetter = { ...lot, x0: lot.x0 + LOT_SD.x0 };
	const quicker = { ...lot, perS: lot.perS.map((value) => value * (1 + LOT_SD.release)) };
	const shifts = [
		{ of: wetter, reaction: 0 },
		{ of: quicker, reaction: 0 }
	];
	const reaction = seesReactions ? LOT_SD.reaction : LOT_SD.reactionUnseen;
	return [...shifts, { of: lot, reaction: isFirst ? reaction : reaction / 2 }];
}

function expected(
	{ compared }: Look,
	{ beanC, sdC }: PredictedCurve,
	referenceC: readonly (number | null)[]
): number {
	const sum = compared.reduce(
		(total, t) => total + (beanC[t]! - referenceC[t]!) ** 2 + sdC[t]! ** 2,
		0
	);
	return Math.sqrt(sum / compared.length);
}

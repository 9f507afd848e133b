import type { LotKind } from '#lib/domain/lot/lot.ts';
import type { Channel, Mark, RoastLog } from '#lib/domain/curve/log.ts';
import {
	beanAfter,
	beanAtCharge,
	beanChange,
	drawBean,
	KIND_PARAMS,
	type BeanParams,
	type BeanState
} from './bean.ts';
import { chanceFrom, type Chance } from './chance.ts';

/**
 * The drum roasters: hot gas through the beans, hot metal under them, a bean probe that lags. Heat
 * figures are those found for 30 kg, scaled by the drum's size; they are ours, not a machine's.
 */

/** From `atS` seconds after charge on, `pct` per cent. */
export interface DrumStep {
	readonly atS: number;
	readonly pct: number;
}

/** What the person at the drum sets. */
export interface DrumSettings {
	readonly chargeG: number;
	/** Probe temperature of the empty drum at charge, C. */
	readonly startC: number;
	/** Seconds after charge with the burner held low, whatever the gas steps say. */
	readonly soakS: number;
	readonly gasSteps: readonly DrumStep[];
	readonly airSteps: readonly DrumStep[];
	readonly drumRpm: number;
}

/** A drum by the mass it is built for. */
export interface DrumRoaster {
	readonly capacityKg: number;
	/** Lag of its bean probe, s. */
	readonly probeLagS: number;
}

export const DRUM_15: DrumRoaster = { capacityKg: 15, probeLagS: 22 };
export const DRUM_60: DrumRoaster = { capacityKg: 60, probeLagS: 28 };

/** When the beans leave: so long after the crack is heard, or at this probe temperature if sooner. */
export interface DropRule {
	readonly afterCrackS: number;
	readonly atMostC: number;
}

export interface DrumOptions {
	readonly kind: LotKind;
	readonly seed: number | string;
	readonly settings: DrumSettings;
	readonly roaster: DrumRoaster;
	/** The bean of the lot; the middle of the kind when not given. */
	readonly params?: BeanParams;
	readonly drop?: DropRule;
	readonly roomC?: number;
	readonly stepS?: number;
}

export interface DrumTruth {
	readonly params: BeanParams;
	/** Seconds from charge; NaN when the roast ended before. */
	readonly onsetS: number;
	readonly halfCrackedS: number;
	/** When the beans passed 150 C. */
	readonly colourChangeS: number;
	readonly dropS: number;
	/** Temperature of the beans, not of the probe, at the drop, C. */
	readonly dropC: number;
	readonly burstOverBase: number;
	readonly probeLagS: number;
}

export interface DrumRoast {
	readonly log: RoastLog;
	readonly truth: DrumTruth;
	readonly chargeG: number;
	readonly outG: number;
}

const TICK_S = 0.2;
const FULL_GAS_KW_PER_KG = 3.0;
const AIR_KW_PER_K_PER_KG = 0.004;
const BEAN_TRANSFER_PER_KG = 0.0035;
const METAL_TRANSFER_PER_KG = 0.0015;
const METAL_KJ_PER_K_PER_KG = 55 / 30;
const METAL_LOSS_PER_KG = 0.0004;
const METAL_SHARE = 0.12;
const SOAK_GAS_PCT = 20;
const USUAL_AIR_PCT = 60;
const COLOUR_CHANGE_C = 150;
/** The probe's sleeve, before the probe itself. */
const WELL_LAG_S = 9;
const LONGEST_S = 1200;

/** The drum and the beans in it. */
interface DrumState {
	readonly bean: BeanState;
	readonly metalC: number;
}

interface DrumPhysics {
	readonly params: BeanParams;
	readonly capacityKg: number;
	readonly chargeKg: number;
	readonly roomC: number;
}

interface DrumChange {
	readonly next: DrumState;
	readonly inletC: number;
	readonly exhaustC: number;
	readonly baseRelease: number;
	readonly burstRelease: number;
}

/** The drum one tick later with the burner and the air at these per cent. */
function drumTick(
	physics: DrumPhysics,
	state: DrumState,
	gasPct: number,
	airPct: number
): DrumChange {
	const { capacityKg, chargeKg, params } = physics;
	const dryKg = chargeKg / (1 + params.x0);
	const { bean, metalC } = state;
	const gasKW = (gasPct / 100) * FULL_GAS_KW_PER_KG * capacityKg;
	const airRatio = airPct / USUAL_AIR_PCT;
	const airKWPerK = AIR_KW_PER_K_PER_KG * capacityKg * airRatio;
	const inletC = physics.roomC + ((1 - METAL_SHARE) * gasKW) / airKWPerK;
	const fill = chargeKg / capacityKg;
	const growth = 1 + 0.3 * Math.max(0, Math.min(1, (bean.tempC - 100) / 100));
	const transfer =
		BEAN_TRANSFER_PER_KG * capacityKg * Math.pow(fill, 0.7) * Math.pow(airRatio, 0.6) * growth;
	const effectiveness = 1 - Math.exp(-transfer / airKWPerK);
	const mixedC = inletC + 0.25 * (metalC - inletC);
	const fromAirKW = airKWPerK * effectiveness * (mixedC - bean.tempC);
	const fromMetalKW =
		METAL_TRANSFER_PER_KG * capacityKg * Math.pow(fill, 0.5) * (metalC - bean.tempC);
	const step = beanChange(params, bean, (fromAirKW + fromMetalKW) / dryKg);
	const metalGainKW =
		METAL_SHARE * gasKW +
		0.25 * airKWPerK * effectiveness * (inletC - metalC) -
		fromMetalKW -
		METAL_LOSS_PER_KG * capacityKg * (metalC - physics.roomC);
	return {
		next: {
			bean: beanAfter(bean, step.change, TICK_S),
			metalC: metalC + (metalGainKW * TICK_S) / (METAL_KJ_PER_K_PER_KG * capacityKg)
		},
		inletC,
		exhaustC: mixedC - effectiveness * (mixedC - bean.tempC),
		baseRelease: step.baseRelease,
		burstRelease: step.burstRelease
	};
}

/** The value of `steps` at `seconds`; the first holds before its time. */
export function stepAt(steps: readonly DrumStep[], seconds: number): number {
	let pct = steps[0]?.pct ?? 0;
	for (const step of steps) if (seconds >= step.atS) pct = step.pct;
	return pct;
}

function gasAt(settings: DrumSettings, seconds: number): number {
	const asked = stepAt(settings.gasSteps, seconds);
	return seconds < settings.soakS ? Math.min(asked, SOAK_GAS_PCT) : asked;
}

/**
 * Roasts a batch in a drum. The bean probe sees 93 % beans and 7 % exhaust air through the lags of
 * its sleeve and its own; the
 * person marks colour change and crack with an error of 2 +- 4 s. Same options, same roast.
 */
export function simulateDrum(options: DrumOptions): DrumRoast {
	const chance = chanceFrom(options.seed);
	const params = options.params ?? KIND_PARAMS[options.kind];
	const { settings, roaster } = options;
	const ear = chance.branch('ear');
	const physics: DrumPhysics = {
		params,
		capacityKg: roaster.capacityKg,
		chargeKg: settings.chargeG / 1000,
		roomC: options.roomC ?? 22
	};
	const drop = options.drop ?? { afterCrackS: 105, atMostC: 216 };
	const course = runDrum(physics, settings, roaster, drop, ear, options.stepS ?? 2);
	const dryG = settings.chargeG / (1 + params.x0);
	const reacted = course.end.reactedKJ / 232;
	const waterLeftG = (course.end.slow + course.end.fast + course.end.expelled) * dryG;
	const dryLostG = (params.reactionWater + 0.02) * reacted * dryG;
	const chaffG = 0.006 * settings.chargeG * chance.branch('chaff').tame(1, 0.15);
	const log = drumLog(course, settings, chance.branch('noise'));
	return {
		log,
		truth: course.truth,
		chargeG: settings.chargeG,
		outG: dryG - dryLostG + waterLeftG - chaffG
	};
}

interface DrumRow {
	readonly timeS: number;
	readonly probeC: number;
	readonly exhaustC: number;
	readonly inletC: number;
}

interface DrumCourse {
	readonly rows: readonly DrumRow[];
	readonly marks: readonly Mark[];
	readonly truth: DrumTruth;
	readonly end: BeanState;
}

function runDrum(
	physics: DrumPhysics,
	settings: DrumSettings,
	roaster: DrumRoaster,
	drop: DropRule,
	ear: Chance,
	stepS: number
): DrumCourse {
	let state: DrumState = {
		bean: beanAtCharge(physics.params, physics.roomC),
		metalC: settings.startC + 15
	};
	let wellC = settings.startC;
	let probeC = settings.startC;
	const rows: DrumRow[] = [];
	const found = { onsetS: NaN, halfCrackedS: NaN, colourChangeS: NaN };
	const late = { colour: ear.tame(2, 4), crack: ear.tame(2, 4) };
	let burst = { rate: 0, overBase: 0 };
	const ticksPerRow = Math.round(stepS / TICK_S);
	for (let tick = 0; ; tick++) {
		const timeS = tick * TICK_S;
		const change = drumTick(
			physics,
			state,
			gasAt(settings, timeS),
			stepAt(settings.airSteps, timeS)
		);
		if (tick % ticksPerRow === 0) {
			rows.push({ timeS, probeC, exhaustC: change.exhaustC, inletC: change.inletC });
			const heardS = found.onsetS + late.crack;
			if (timeS >= heardS + drop.afterCrackS || probeC >= drop.atMostC || timeS >= LONGEST_S) {
				const truth: DrumTruth = {
					params: physics.params,
					...found,
					dropS: timeS,
					dropC: state.bean.tempC,
					burstOverBase: burst.overBase,
					probeLagS: roaster.probeLagS
				};
				return { rows, marks: drumMarks(truth, late), truth, end: state.bean };
			}
		}
		if (change.burstRelease > burst.rate)
			burst = {
				rate: change.burstRelease,
				overBase: change.burstRelease / change.baseRelease
			};
		const seenC = 0.93 * state.bean.tempC + 0.07 * change.exhaustC;
		wellC += ((seenC - wellC) * TICK_S) / WELL_LAG_S;
		probeC += ((wellC - probeC) * TICK_S) / roaster.probeLagS;
		state = change.next;
		if (Number.isNaN(found.onsetS) && state.bean.cracked >= 0.05) found.onsetS = timeS;
		if (Number.isNaN(found.halfCrackedS) && state.bean.cracked >= 0.5) found.halfCrackedS = timeS;
		if (Number.isNaN(found.colourChangeS) && state.bean.tempC >= COLOUR_CHANGE_C)
			found.colourChangeS = timeS;
	}
}

function drumMarks(truth: DrumTruth, late: { colour: number; crack: number }): Mark[] {
	const marks: Mark[] = [{ name: 'charge', timeS: 0 }];
	const heard = (name: Mark['name'], timeS: number): void => {
		if (timeS < truth.dropS) marks.push({ name, timeS: Math.round(timeS) });
	};
	heard('colourChange', truth.colourChangeS + late.colour);
	heard('firstCrackEar', truth.onsetS + late.crack);
	marks.push({ name: 'drop', timeS: truth.dropS });
	return marks;
}

function drumLog(course: DrumCourse, settings: DrumSettings, chance: Chance): RoastLog {
	const column = (value: (row: DrumRow) => number): Float64Array =>
		Float64Array.from(course.rows, value);
	const channels: Partial<Record<Channel, Float64Array>> = {
		beanC: column((row) => row.probeC + chance.normal(0, 0.12)),
		exhaustC: column((row) => row.exhaustC + chance.normal(0, 0.5)),
		inletC: column((row) => row.inletC + chance.normal(0, 1.5)),
		gasPct: column((row) => gasAt(settings, row.timeS)),
		airPct: column((row) => stepAt(settings.airSteps, row.timeS)),
		drumRpm: column(() => settings.drumRpm)
	};
	return { kind: 'drum', timeS: column((row) => row.timeS), channels, marks: course.marks };
}

/** Where the beans should be: seconds from charge and C. */
export type DrumGoal = readonly (readonly [seconds: number, celsius: number])[];

/**
 * A roast whose rate of rise falls steadily from 22 C a minute at 2:00 to 6 at 9:00, where the beans are
 * 4 C short of their crack, and by 4.5 C a minute after that.
 */
export function usualGoal(params: BeanParams): DrumGoal {
	return [120, 200, 290, 380, 470, 560, 660].map((seconds) => {
		const minutes = Math.min(seconds, 540) / 60 - 2;
		const risen = 22 * minutes - (8 / 7) * minutes * minutes;
		const after = (4.5 * Math.max(0, seconds - 540)) / 60;
		return [seconds, params.crackC - 102 + risen + after] as const;
	});
}

/**
 * The gas steps, in whole per cent, that bring this very bean to each point of `goal`: what a person
 * learns over several batches, found here by halving. Times are the points' of the goal.
 */
export function gasStepsFor(
	params: BeanParams,
	roaster: DrumRoaster,
	settings: Omit<DrumSettings, 'gasSteps'>,
	goal: DrumGoal
): DrumStep[] {
	const physics: DrumPhysics = {
		params,
		capacityKg: roaster.capacityKg,
		chargeKg: settings.chargeG / 1000,
		roomC: 22
	};
	let state: DrumState = {
		bean: beanAtCharge(params, physics.roomC),
		metalC: settings.startC + 15
	};
	const steps: DrumStep[] = [];
	let fromS = 0;
	for (const [toS, goalC] of goal) {
		const run = (pct: number): DrumState =>
			driveDrum(physics, state, { ...settings, gasSteps: [{ atS: 0, pct }] }, fromS, toS);
		let low = 5;
		let high = 100;
		while (high - low > 0.5) {
			const middle = (low + high) / 2;
			if (run(middle).bean.tempC < goalC) low = middle;
			else high = middle;
		}
		const pct = Math.round((low + high) / 2);
		steps.push({ atS: fromS, pct });
		state = run(pct);
		fromS = toS;
	}
	return steps;
}

function driveDrum(
	physics: DrumPhysics,
	state: DrumState,
	settings: DrumSettings,
	fromS: number,
	toS: number
): DrumState {
	let now = state;
	for (let tick = Math.round(fromS / TICK_S); tick < Math.round(toS / TICK_S); tick++) {
		const timeS = tick * TICK_S;
		now = drumTick(physics, now, gasAt(settings, timeS), stepAt(settings.airSteps, timeS)).next;
	}
	return now;
}

/** A lot of a kind, drawn by its seed: the same bean for its sample and its batches. */
export function beanOfLot(kind: LotKind, seed: number | string): BeanParams {
	return drawBean(kind, chanceFrom(seed).branch('bean'));
}

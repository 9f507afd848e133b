import type { LotKind } from '#lib/domain/lot/lot.ts';
import { vapourPressurePa } from '#lib/domain/air/humidity.ts';
import { saturationPressurePa } from '#lib/domain/air/saturation.ts';
import type { Channel, Mark, RoastLog } from '#lib/domain/curve/log.ts';
import {
	beanAfter,
	beanAtCharge,
	beanChange,
	drawBean,
	KIND_PARAMS,
	type BeanParams
} from './bean.ts';
import { chanceFrom, type Chance } from './chance.ts';

/**
 * The sample roaster: 50 g in a hot air stream, and a humidity sensor in a cooled branch of the
 * exhaust. The truth of each roast is handed back beside its log. `demo-data/README.md` says what is
 * published and what is ours.
 */

/** A step of the fan: from `atS` on the air flow is `factor` times what it was at charge. */
export interface FanStep {
	readonly atS: number;
	readonly factor: number;
}

/** Inlet air of the sample roaster, seconds from charge and C. */
export type InletProfile = readonly (readonly [seconds: number, celsius: number])[];

const USUAL_PROFILE: InletProfile = [
	[0, 174],
	[40, 150],
	[80, 150],
	[120, 150],
	[180, 174],
	[240, 196],
	[300, 213],
	[360, 229],
	[420, 234],
	[480, 230]
];

/** The usual profile; one 4 % hotter (in C) and shorter; one 2.5 % cooler and longer. */
export const PROFILES = {
	usual: USUAL_PROFILE,
	hotter: scaled(USUAL_PROFILE, 1.04, 0.94),
	cooler: scaled(USUAL_PROFILE, 0.975, 1.12)
} as const;
export type ProfileName = keyof typeof PROFILES;

function scaled(profile: InletProfile, heat: number, time: number): InletProfile {
	return profile.map(([seconds, celsius]) => [Math.round(seconds * time), celsius * heat] as const);
}

export interface SampleOptions {
	readonly kind: LotKind;
	readonly seed: number | string;
	/** Overrides the bean drawn for the lot; `{ burstShare: 0 }` gives a lot that never cracks. */
	readonly params?: Partial<BeanParams>;
	/** `middle` takes the middle of the kind, `drawn` (the default) a lot of that kind. */
	readonly lot?: 'middle' | 'drawn';
	readonly profile?: ProfileName | InletProfile;
	/** First-order lag of the humidity sensor, s; drawn from 5 to 15 when not given. */
	readonly lagS?: number;
	/** Standard deviation of the white noise on the humidity reading, points of RH. */
	readonly noiseRhPct?: number;
	/** Constant error of the humidity reading, points of RH. */
	readonly offsetRhPct?: number;
	/** Seconds between rows. */
	readonly stepS?: number;
	readonly chargeG?: number;
	/** Dry-air flow at charge, g/s. */
	readonly airFlowGS?: number;
	readonly pressurePa?: number;
	readonly roomHumidityGKg?: number;
	readonly fanSteps?: readonly FanStep[];
	/** Whether the log has the fan setting; a step that is not logged misleads the reading. */
	readonly fanLogged?: boolean;
}

/** What really happened in a simulated sample roast. Seconds are from charge. */
export interface SampleTruth {
	readonly params: BeanParams;
	/** When half, 5 % and 95 % of the beans had cracked; NaN when that never came. */
	readonly halfCrackedS: number;
	readonly onsetS: number;
	readonly endS: number;
	/** When the water of the cracking left fastest, and how that compared with all other water then. */
	readonly burstPeakS: number;
	readonly burstOverBase: number;
	/** The burst stood at least `DISTINCT_OVER_BASE` over the base. */
	readonly distinct: boolean;
	/** Bean temperature when half had cracked, and at the end, C. */
	readonly halfCrackedC: number;
	readonly endC: number;
	/** Water carried off by the air, water formed in it, g. */
	readonly waterReleasedG: number;
	readonly waterFormedG: number;
	/** Greatest release rate, mg/s, and rise of the humidity ratio, g/kg. */
	readonly peakReleaseMgS: number;
	readonly humidityRiseGKg: number;
	/** Water release rate at every whole second, g/s: in all, and without the burst. */
	readonly releaseGS: Float64Array;
	readonly baseGS: Float64Array;
}

export interface SampleRoast {
	readonly log: RoastLog;
	readonly truth: SampleTruth;
	readonly chargeG: number;
	readonly outG: number;
	/** Dry-air flow at charge, g/s. */
	readonly airFlowGS: number;
	readonly lagS: number;
	readonly noiseRhPct: number;
	readonly offsetRhPct: number;
	readonly pressurePa: number;
	readonly roomHumidityGKg: number;
	/** Water of the green coffee, % of its mass as it is (wet basis). */
	readonly greenMoisturePct: number;
	/** When a person said the crack began, s; null when none was heard. */
	readonly earCrackS: number | null;
}

/** A burst of at least this share of the base release is called distinct. */
export const DISTINCT_OVER_BASE = 0.25;

const TICK_S = 0.05;
const EFFECTIVENESS = 0.35;
const AIR_HEAT_KJ_PER_KG_K = 1.02;
/** The flow falls by this share to the end, as the air gets hotter. */
const FLOW_FALL = 0.15;
const BEAN_PROBE_LAG_S = 3;
const FAN_SETTING_PCT = 60;

/** Relative humidity, %, of air with `ratio` kg water per kg dry air at `celsius` and `pressurePa`. */
function relativeHumidityPct(ratio: number, celsius: number, pressurePa: number): number {
	return (100 * vapourPressurePa(1000 * ratio, pressurePa)) / saturationPressurePa(celsius);
}

/** `profile` at `seconds`, by straight lines; held before its first and after its last point. */
export function inletAt(profile: InletProfile, seconds: number): number {
	const first = profile[0];
	if (first === undefined) throw new Error('an inlet profile needs a point');
	let [beforeS, beforeC] = first;
	for (const [pointS, pointC] of profile) {
		if (seconds <= pointS) {
			if (pointS === beforeS) return pointC;
			return beforeC + ((pointC - beforeC) * (seconds - beforeS)) / (pointS - beforeS);
		}
		beforeS = pointS;
		beforeC = pointC;
	}
	return beforeC;
}

function fanFactorAt(steps: readonly FanStep[], seconds: number): number {
	let factor = 1;
	for (const step of steps) if (seconds >= step.atS) factor = step.factor;
	return factor;
}

interface Setup {
	readonly params: BeanParams;
	readonly profile: InletProfile;
	readonly endS: number;
	readonly chargeG: number;
	readonly dryG: number;
	readonly airFlowGS: number;
	readonly fanSteps: readonly FanStep[];
	readonly lagS: number;
	readonly roomHumidityGKg: number;
	readonly roomC: number;
	readonly stepS: number;
}

/** One row of the physics, before any sensor's noise. */
interface Row {
	readonly timeS: number;
	readonly beanC: number;
	readonly inletC: number;
	readonly exhaustC: number;
	readonly sensorC: number;
	/** Humidity ratio at the sensor after its lag, kg/kg. */
	readonly laggedRatio: number;
}

interface Course {
	readonly rows: readonly Row[];
	readonly truth: SampleTruth;
	readonly dryLossG: number;
}

/** Runs the balance in small steps and keeps a row every `stepS`. */
function roast(setup: Setup): Course {
	const { params, dryG } = setup;
	let bean = beanAtCharge(params, setup.roomC);
	let probeC = setup.roomC;
	let housingC = 44;
	let laggedRatio = setup.roomHumidityGKg / 1000;
	const watch = watchCourse(setup);
	const rows: Row[] = [];
	const ticks = Math.round(setup.endS / TICK_S);
	const ticksPerRow = Math.round(setup.stepS / TICK_S);
	for (let tick = 0; tick <= ticks; tick++) {
		const timeS = tick * TICK_S;
		const inletC = inletAt(setup.profile, timeS);
		const fan = fanFactorAt(setup.fanSteps, timeS);
		const flowGS = setup.airFlowGS * fan * (1 - (FLOW_FALL * timeS) / setup.endS);
		const heatKW = (EFFECTIVENESS * flowGS * AIR_HEAT_KJ_PER_KG_K * (inletC - bean.tempC)) / dryG;
		const step = beanChange(params, bean, heatKW);
		const exhaustC = inletC - EFFECTIVENESS * (inletC - bean.tempC);
		const baseGS = step.baseRelease * dryG;
		const releaseGS = baseGS + step.burstRelease * dryG;
		const ratio = setup.roomHumidityGKg / 1000 + releaseGS / flowGS;
		watch.see(timeS, bean.cracked, bean.tempC, baseGS, releaseGS, flowGS);
		if (tick === 0) laggedRatio = ratio;
		if (tick % ticksPerRow === 0)
			rows.push({ timeS, beanC: probeC, inletC, exhaustC, sensorC: housingC, laggedRatio });
		probeC += ((bean.tempC - probeC) * TICK_S) / BEAN_PROBE_LAG_S;
		housingC += ((44 + 0.22 * (exhaustC - 122) - housingC) * TICK_S) / 60;
		laggedRatio += ((ratio - laggedRatio) * TICK_S) / setup.lagS;
		bean = beanAfter(bean, step.change, TICK_S);
	}
	const formedG = ((params.reactionWater * bean.reactedKJ) / 232) * dryG;
	const gasG = 0.02 * (bean.reactedKJ / 232) * dryG;
	return { rows, truth: watch.truth(bean.tempC, formedG), dryLossG: formedG + gasG };
}

/** Follows a course tick by tick and says afterwards what really happened. */
function watchCourse(setup: Setup): {
	see(
		timeS: number,
		cracked: number,
		beanC: number,
		baseGS: number,
		releaseGS: number,
		flowGS: number
	): void;
	truth(endC: number, waterFormedG: number): SampleTruth;
} {
	const crossed = { onsetS: NaN, halfCrackedS: NaN, endS: NaN };
	const seconds = Math.floor(setup.endS) + 1;
	const release = new Float64Array(seconds);
	const base = new Float64Array(seconds);
	let halfCrackedC = NaN;
	let burst = { peakS: NaN, rateGS: 0, overBase: 0 };
	let waterReleasedG = 0;
	let peakReleaseMgS = 0;
	let humidityRiseGKg = 0;
	const cracks = setup.params.burstShare > 0;
	return {
		see(timeS, cracked, beanC, baseGS, releaseGS, flowGS) {
			if (cracks && Number.isNaN(crossed.onsetS) && cracked >= 0.05) crossed.onsetS = timeS;
			if (cracks && Number.isNaN(crossed.halfCrackedS) && cracked >= 0.5) {
				crossed.halfCrackedS = timeS;
				halfCrackedC = beanC;
			}
			if (cracks && Number.isNaN(crossed.endS) && cracked >= 0.95) crossed.endS = timeS;
			const burstGS = releaseGS - baseGS;
			if (burstGS > burst.rateGS)
				burst = { peakS: timeS, rateGS: burstGS, overBase: burstGS / baseGS };
			waterReleasedG += releaseGS * TICK_S;
			peakReleaseMgS = Math.max(peakReleaseMgS, releaseGS * 1000);
			humidityRiseGKg = Math.max(humidityRiseGKg, (releaseGS / flowGS) * 1000);
			const whole = Math.round(timeS);
			if (Math.abs(timeS - whole) < TICK_S / 2 && whole < seconds) {
				release[whole] = releaseGS;
				base[whole] = baseGS;
			}
		},
		truth: (endC, waterFormedG) => ({
			params: setup.params,
			...crossed,
			burstPeakS: burst.peakS,
			burstOverBase: burst.overBase,
			distinct: burst.overBase >= DISTINCT_OVER_BASE && !Number.isNaN(crossed.halfCrackedS),
			halfCrackedC,
			endC,
			waterReleasedG,
			waterFormedG,
			peakReleaseMgS,
			humidityRiseGKg,
			releaseGS: release,
			baseGS: base
		})
	};
}

/** When a person calls the crack: near its onset, late when it is faint, not at all when none. */
function earCrack(truth: SampleTruth, chance: Chance): number | null {
	if (Number.isNaN(truth.onsetS)) return null;
	const heardS = truth.onsetS + 4 + chance.tame(3, 5) + (truth.distinct ? 0 : 6);
	return Math.round(heardS);
}

/**
 * Roasts a sample of a lot. The humidity sensor takes up vapour with a first-order lag (its filter
 * cap), in a stream of 44 to 67 C whose temperature is logged beside it; noise and offset are added to
 * the relative humidity. Same options, same roast.
 */
export function simulateSample(options: SampleOptions): SampleRoast {
	const chance = chanceFrom(options.seed);
	const drawn =
		options.lot === 'middle'
			? KIND_PARAMS[options.kind]
			: drawBean(options.kind, chance.branch('bean'));
	const params: BeanParams = { ...drawn, ...options.params };
	const sensor = chance.branch('sensor');
	const lagS = options.lagS ?? sensor.between(5, 15);
	const noiseRhPct = options.noiseRhPct ?? 0.1;
	const offsetRhPct = options.offsetRhPct ?? 0;
	const pressurePa = options.pressurePa ?? 101_325;
	const chargeG = options.chargeG ?? 50;
	const profile =
		typeof options.profile === 'string' || options.profile === undefined
			? PROFILES[options.profile ?? 'usual']
			: options.profile;
	const setup: Setup = {
		params,
		profile,
		endS: profile[profile.length - 1]?.[0] ?? 0,
		chargeG,
		dryG: chargeG / (1 + params.x0),
		airFlowGS: options.airFlowGS ?? 4,
		fanSteps: options.fanSteps ?? [],
		lagS,
		roomHumidityGKg: options.roomHumidityGKg ?? 8,
		roomC: 25,
		stepS: options.stepS ?? 1
	};
	const course = roast(setup);
	const outG =
		chargeG - course.truth.waterReleasedG - (course.dryLossG - course.truth.waterFormedG);
	return {
		log: sampleLog(course.rows, {
			chance: sensor.branch('noise'),
			noiseRhPct,
			offsetRhPct,
			pressurePa,
			fanSteps: setup.fanSteps,
			fanLogged: options.fanLogged ?? true
		}),
		truth: course.truth,
		chargeG,
		outG,
		airFlowGS: setup.airFlowGS,
		lagS,
		noiseRhPct,
		offsetRhPct,
		pressurePa,
		roomHumidityGKg: setup.roomHumidityGKg,
		greenMoisturePct: (100 * params.x0) / (1 + params.x0),
		earCrackS: earCrack(course.truth, chance.branch('ear'))
	};
}

interface Reading {
	readonly chance: Chance;
	readonly noiseRhPct: number;
	readonly offsetRhPct: number;
	readonly pressurePa: number;
	readonly fanSteps: readonly FanStep[];
	readonly fanLogged: boolean;
}

/** What the instruments write down. */
function sampleLog(rows: readonly Row[], reading: Reading): RoastLog {
	const { chance, pressurePa } = reading;
	const column = (value: (row: Row) => number): Float64Array => Float64Array.from(rows, value);
	const channels: Partial<Record<Channel, Float64Array>> = {
		beanC: column((row) => row.beanC + chance.normal(0, 0.1)),
		exhaustC: column((row) => row.exhaustC + chance.normal(0, 0.15)),
		inletC: column((row) => row.inletC + chance.normal(0, 0.2)),
		sensorC: column((row) => row.sensorC),
		humidityRhPct: column((row) =>
			Math.max(
				0,
				relativeHumidityPct(row.laggedRatio, row.sensorC, pressurePa) +
					reading.offsetRhPct +
					chance.normal(0, reading.noiseRhPct)
			)
		)
	};
	if (reading.fanLogged)
		channels.fanPct = column((row) => FAN_SETTING_PCT * fanFactorAt(reading.fanSteps, row.timeS));
	const marks: Mark[] = [{ name: 'charge', timeS: 0 }];
	const last = rows[rows.length - 1];
	if (last !== undefined) marks.push({ name: 'drop', timeS: last.timeS });
	return { kind: 'sample', timeS: column((row) => row.timeS), channels, marks };
}

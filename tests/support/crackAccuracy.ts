/**
 * How well a reading finds first crack on simulated sample roasts, whose true half-cracked moment is
 * known. No open data set of roast humidity curves was found, so there is nothing better to measure on.
 *
 * Every constant of the reading was set on logs of the `tuning` seeds; figures that are told to
 * anyone come from the `held back` seeds, which no constant was ever set on.
 */
import {
	PROFILES as PROFILES_C,
	simulateSample,
	type ProfileName,
	type SampleOptions,
	type SampleRoast
} from '#demo/simulate.ts';
import { humidityRatioFromRhGKg } from '#lib/domain/air/humidity.ts';
import { findPeaks, type Peak } from '#lib/domain/curve/peaks.ts';
import { savgolFilter } from '#lib/domain/curve/smooth.ts';
import { LOT_KINDS, type LotKind } from '#lib/domain/lot/lot.ts';
import { readSample } from '#lib/domain/release/read.ts';
import type { CrackReading, ReadingContext } from '#lib/domain/release/reading.ts';

export type SeedSet = 'tuning' | 'held back';

/** Goals of the reading: crack time error, s, and the share of distinct cracks within it. */
export const WITHIN_S = 5;

export interface AccuracyOptions {
	readonly seeds: SeedSet;
	/** Logs: kinds and profiles take turns, so a multiple of 18 has each as often. */
	readonly logs: number;
	/** Laid over the simulated roast of every log. */
	readonly roast?: Partial<SampleOptions>;
	/** One step of the fan somewhere around the crack, elsewhere in every log. */
	readonly fanStep?: { readonly factor: number; readonly logged: boolean };
	/** Laid over what is known beside the log: air flow and the true sensor lag. */
	readonly context?: Partial<ReadingContext>;
	/** Instead of the reading of the whole log, for a reference method. */
	readonly find?: CrackFinder;
}

/** A way to find the crack in a log; null when it finds none. */
export type CrackFinder = (
	roast: SampleRoast,
	context: ReadingContext
) => Pick<CrackReading, 'verdict' | 'peakS' | 'prominence'> | null;

/** Figures over the logs whose burst is distinct in truth. */
export interface CrackFigures {
	readonly logs: number;
	/** Share found within `WITHIN_S` of the half-cracked moment; a crack not found counts against it. */
	readonly within: number;
	/** Mean and standard deviation of found less true, s, over those found. */
	readonly biasS: number;
	readonly spreadS: number;
	/** Share with verdict none. */
	readonly missed: number;
	/** Share with verdict distinct. */
	readonly distinct: number;
}

export interface CrackAccuracy extends CrackFigures {
	readonly byKind: Readonly<Partial<Record<LotKind, CrackFigures>>>;
	readonly byProfile: Readonly<Record<string, CrackFigures>>;
}

const PROFILES = ['usual', 'hotter', 'cooler'] as const;

interface Tried {
	readonly kind: LotKind;
	readonly profile: string;
	readonly roast: SampleRoast;
	readonly crack: ReturnType<CrackFinder>;
}

/** Accuracy on roasts that crack. */
export function crackAccuracy(options: AccuracyOptions): CrackAccuracy {
	const tried = tryAll(options).filter(({ roast }) => roast.truth.distinct);
	const groups = <K extends string>(keys: readonly K[], of: (one: Tried) => string) =>
		Object.fromEntries(
			keys
				.map((key) => [key, tried.filter((one) => of(one) === key)] as const)
				.filter(([, members]) => members.length > 0)
				.map(([key, members]) => [key, figuresOf(members)])
		) as Record<K, CrackFigures>;
	return {
		...figuresOf(tried),
		byKind: groups(LOT_KINDS, (one) => one.kind),
		byProfile: groups(PROFILES, (one) => one.profile)
	};
}

/** Share of roasts of beans that never burst whose crack is nevertheless called distinct. */
export function falseDistinct(options: AccuracyOptions): number {
	const roast = { ...options.roast, params: { ...options.roast?.params, burstShare: 0 } };
	const tried = tryAll({ ...options, roast });
	return tried.filter(({ crack }) => crack?.verdict === 'distinct').length / tried.length;
}

/** Share of logs at this noise of the humidity sensor, points of RH, that are said to be too noisy. */
export function saidTooNoisy(options: AccuracyOptions & { readonly noiseRhPct: number }): number {
	let said = 0;
	for (let i = 0; i < options.logs; i++) {
		const roast = simulate({ ...options, roast: { noiseRhPct: options.noiseRhPct } }, i);
		const reading = readSample(roast.log, contextOf(roast, options.context));
		if (reading.ok && reading.value.problems.some(({ message }) => message.includes('too noisy'))) {
			said++;
		}
	}
	return said / options.logs;
}

/** What is known beside a simulated log, with the true sensor lag unless told otherwise. */
export function contextOf(roast: SampleRoast, over: Partial<ReadingContext> = {}): ReadingContext {
	return {
		chargeG: roast.chargeG,
		outG: roast.outG,
		greenMoisturePct: roast.greenMoisturePct,
		airFlowGS: roast.airFlowGS,
		sensorLagS: roast.lagS,
		pressurePa: roast.pressurePa,
		altitudeM: null,
		roomHumidityGKg: null,
		...over
	};
}

/**
 * The usual way, as a reference: the lag taken off by a smoothed slope (31 s, cubic), then the most
 * prominent peak where the beans are at 183 to 211 C.
 */
export const peakFinder: CrackFinder = (roast, context) => {
	const { timeS, channels } = roast.log;
	const ratio = channels.humidityRhPct!.map((value, i) =>
		humidityRatioFromRhGKg(value, channels.sensorC![i]!, roast.pressurePa)
	);
	const smoothing = { points: 31, order: 3, step: timeS[1]! - timeS[0]! };
	const slope = savgolFilter(ratio, { ...smoothing, derivative: 1 });
	const release = savgolFilter(ratio, smoothing).map(
		(value, i) => value + (context.sensorLagS ?? 10) * slope[i]!
	);
	const inGate = ({ index }: Peak) =>
		channels.beanC![index]! >= 183 && channels.beanC![index]! <= 211;
	const best = findPeaks(release)
		.filter(inGate)
		.reduce<Peak | null>((a, b) => (a && a.prominence >= b.prominence ? a : b), null);
	return best && { verdict: 'weak', peakS: timeS[best.index]!, prominence: null };
};

const readingFinder: CrackFinder = (roast, context) => {
	const reading = readSample(roast.log, context);
	return reading.ok ? reading.value.crack : null;
};

function tryAll(options: AccuracyOptions): Tried[] {
	const find = options.find ?? readingFinder;
	return Array.from({ length: options.logs }, (_, i) => {
		const roast = simulate(options, i);
		const crack = find(roast, contextOf(roast, options.context));
		return { kind: kindOf(i), profile: profileOf(i), roast, crack };
	});
}

/** Roasts of the tuning seeds, kinds and profiles in turn. */
export function tuningRoasts(logs: number): SampleRoast[] {
	return Array.from({ length: logs }, (_, i) => simulate({ seeds: 'tuning', logs }, i));
}

function kindOf(i: number): LotKind {
	return LOT_KINDS[i % LOT_KINDS.length]!;
}

function profileOf(i: number) {
	return PROFILES[Math.floor(i / LOT_KINDS.length) % PROFILES.length]!;
}

function simulate(options: AccuracyOptions, i: number): SampleRoast {
	const seed = `crack accuracy, ${options.seeds}, ${i}`;
	const profile = profileOf(i);
	const { fanStep } = options;
	const fan = fanStep && {
		fanSteps: [{ atS: stepAtS(profile, i), factor: fanStep.factor }],
		fanLogged: fanStep.logged
	};
	return simulateSample({ kind: kindOf(i), profile, seed, ...fan, ...options.roast });
}

/** Where a fan step misleads most, as shares of the roast's time: the beans are at about 180 to 212 C. */
const STEP_SPAN = { from: 0.66, to: 0.86 } as const;
const GOLDEN = (Math.sqrt(5) - 1) / 2;

/** A whole second within the span, spread evenly over the logs whatever their number. */
function stepAtS(profile: ProfileName, i: number): number {
	const endS = PROFILES_C[profile].at(-1)![0];
	const share = STEP_SPAN.from + ((i * GOLDEN) % 1) * (STEP_SPAN.to - STEP_SPAN.from);
	return Math.round(share * endS);
}

function figuresOf(tried: readonly Tried[]): CrackFigures {
	const errors = tried
		.filter(({ crack }) => crack?.peakS !== null && crack?.peakS !== undefined)
		.map(({ crack, roast }) => crack!.peakS! - roast.truth.halfCrackedS);
	const share = (count: number) => count / tried.length;
	const biasS = errors.reduce((sum, error) => sum + error, 0) / errors.length;
	const squares = errors.reduce((sum, error) => sum + (error - biasS) ** 2, 0);
	return {
		logs: tried.length,
		within: share(errors.filter((error) => Math.abs(error) <= WITHIN_S).length),
		biasS,
		spreadS: Math.sqrt(squares / Math.max(1, errors.length - 1)),
		missed: share(tried.filter(({ crack }) => !crack || crack.verdict === 'none').length),
		distinct: share(tried.filter(({ crack }) => crack?.verdict === 'distinct').length)
	};
}

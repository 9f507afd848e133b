import { trapezoid } from '../curve/integrate.ts';
import type { DrumCurve } from './curve.ts';
import { FAULT_NAMES, type FaultName, type FaultThresholds } from './faultRules.ts';
import { passing, valueAt } from './marks.ts';
import type { DrumFault, DrumMarks, UncheckedFault } from './reading.ts';
import type { DrumSettings } from './settings.ts';

/** What the rules of `faultRules.ts` look at. */
export interface FaultLook {
	readonly curve: DrumCurve;
	readonly marks: DrumMarks;
	readonly settings: DrumSettings;
	/** Gas on the curve's grid, or null. */
	readonly gasPct: Float64Array | null;
	/** Scatter of the rate of rise, C/min; NaN where it can't be told. */
	readonly rorNoiseCMin: number;
}

/** What one rule says: the faults it found, or why it could not be applied. */
type Finding = readonly DrumFault[] | { readonly unchecked: string };

/** A change of the rate of rise is told from its scatter at this many standard deviations. */
const NOISE_MARGIN = 4;
const CRASH_ZONE_BEFORE_S = 60;
const CRASH_TREND_S = 90;

const CHECKS: Readonly<Record<FaultName, (look: FaultLook) => Finding>> = {
	'scorching start': scorchingStart,
	'probe lag': probeLag,
	stall,
	crash,
	flick: (look) => lateRise(look, 'flick'),
	runaway: (look) => lateRise(look, 'runaway')
};

/** Applies every rule of the table to a batch (D5, D6). */
export function findFaults(look: FaultLook): {
	readonly faults: readonly DrumFault[];
	readonly unchecked: readonly UncheckedFault[];
} {
	const faults: DrumFault[] = [];
	const unchecked: UncheckedFault[] = [];
	for (const name of FAULT_NAMES) {
		const finding = CHECKS[name](look);
		if ('unchecked' in finding) unchecked.push({ name, because: finding.unchecked });
		else faults.push(...finding);
	}
	return { faults: faults.sort((a, b) => a.fromS - b.fromS), unchecked };
}

/** The highest rate of rise after the turning point and its second; null when there is none. */
export function highestRor({ curve, marks }: Pick<FaultLook, 'curve' | 'marks'>): number | null {
	if (marks.turningPoint === null) return null;
	let highest: number | null = null;
	for (let t = Math.ceil(marks.turningPoint.timeS); t < curve.rorCMin.length; t++) {
		const value = curve.rorCMin[t]!;
		if (value > (highest === null ? -Infinity : curve.rorCMin[highest]!)) highest = t;
	}
	return highest;
}

function scorchingStart(look: FaultLook): Finding {
	const { scorchRorCMin, scorchChargeC } = look.settings.thresholds;
	const faults: DrumFault[] = [];
	const chargeC = look.marks.charge.temperatureC;
	if (chargeC !== null && look.marks.turningPoint && chargeC > scorchChargeC) {
		faults.push({
			name: 'scorching start',
			fromS: 0,
			toS: 0,
			size: chargeC,
			unit: 'C',
			because: [
				`bean probe at charge ${chargeC.toFixed(0)} C`,
				`above ${scorchChargeC} C the drum is called too hot`
			],
			thresholds: { scorchChargeC }
		});
	}
	const peak = highestRor(look);
	if (peak === null) return { unchecked: 'there is no rate of rise after a turning point' };
	const size = look.curve.rorCMin[peak]!;
	if (size <= scorchRorCMin) return faults;
	const above = stretch(look.curve.rorCMin, peak, (value) => value > scorchRorCMin);
	const because = [
		`rate of rise reaches ${rate(size)} at ${clock(peak)}, after the turning point`,
		`above ${rate(scorchRorCMin)} the start is called scorching`
	];
	return [
		...faults,
		{
			name: 'scorching start',
			...above,
			size,
			unit: 'C/min',
			because,
			thresholds: { scorchRorCMin }
		}
	];
}

/**
 * The probe's lag by what it must give up: a first-order probe has T' = (beans - T) / lag, and lags one
 * behind the other add up in the same way, so lag = area between probe and beans / fall of the probe.
 * Between charge and turning point, where the probe meets the beans, the beans are taken to warm evenly
 * from `greenC`. Null where the probe does not fall by 20 C or a value is missing.
 */
export function probeLagS(curve: DrumCurve, marks: DrumMarks, greenC: number): number | null {
	if (marks.turningPoint === null) return null;
	const end = Math.floor(marks.turningPoint.timeS);
	const startC = curve.beanC[0]!;
	const endC = curve.smoothC[end]!;
	if (!(end >= 10 && startC - endC >= 20)) return null;
	const time = curve.timeS.subarray(0, end + 1);
	const above = time.map((t) => curve.beanC[t]! - (greenC + ((endC - greenC) * t) / end));
	const lag = trapezoid(time, above) / (startC - endC);
	return Number.isFinite(lag) ? lag : null;
}

function probeLag({ curve, marks, settings }: FaultLook): Finding {
	const limit = settings.thresholds.probeLagS;
	const size = probeLagS(curve, marks, settings.greenC);
	if (size === null || marks.turningPoint === null) {
		return { unchecked: 'the bean temperature does not fall by 20 C from charge to turning point' };
	}
	if (size <= limit) return [];
	const toS = marks.turningPoint.timeS;
	const because = [
		`turning point at ${clock(toS)}; the probe is about ${size.toFixed(0)} s behind beans that warm evenly from ${settings.greenC} C`,
		`more than ${limit} s is called late`
	];
	return [
		{ name: 'probe lag', fromS: 0, toS, size, unit: 's', because, thresholds: { probeLagS: limit } }
	];
}

function stall(look: FaultLook): Finding {
	const { stallBelowCMin, stallForS } = look.settings.thresholds;
	const peak = highestRor(look);
	if (peak === null) return { unchecked: 'there is no rate of rise after a turning point' };
	const noisy = tooNoisy(look, stallBelowCMin);
	if (noisy) return noisy;
	const ror = look.curve.rorCMin;
	const isLow = (value: number) => value < stallBelowCMin;
	const faults: DrumFault[] = [];
	for (let t = peak; t < ror.length; t++) {
		if (!isLow(ror[t]!)) continue;
		const low = stretch(ror, t, isLow);
		t = low.toS;
		const size = low.toS - low.fromS;
		if (size < stallForS) continue;
		const lowest = Math.min(...ror.subarray(low.fromS, low.toS + 1));
		const because = [
			`rate of rise below ${rate(stallBelowCMin)} for ${size} s from ${clock(low.fromS)}, lowest ${rate(lowest)}`,
			`${stallForS} s of that is called a stall`
		];
		const thresholds = { stallBelowCMin, stallForS };
		faults.push({ name: 'stall', ...low, size, unit: 's', because, thresholds });
	}
	return faults;
}

function crash(look: FaultLook): Finding {
	const { crashFallCMin, crashWithinS } = look.settings.thresholds;
	const late = latePart(look);
	if (late === null) return { unchecked: noLatePart(look) };
	const noisy = tooNoisy(look, crashFallCMin);
	if (noisy) return noisy;
	const ror = look.curve.rorCMin;
	const within = Math.round(crashWithinS);
	let worst = { fromS: -1, beyond: -Infinity, trend: 0 };
	for (let t = Math.max(0, late.fromS - CRASH_ZONE_BEFORE_S); t + within < ror.length; t++) {
		const trend = trendBefore(ror, t);
		const beyond = ror[t]! - ror[t + within]! - Math.max(0, -trend * within);
		if (beyond > worst.beyond) worst = { fromS: t, beyond, trend };
	}
	if (worst.fromS < 0) return { unchecked: 'the rate of rise is not known about first crack' };
	if (worst.beyond < crashFallCMin) return [];
	const { fromS, beyond: size } = worst;
	const toS = fromS + within;
	const because = [
		`rate of rise falls from ${rate(ror[fromS]!)} to ${rate(ror[toS]!)} between ${clock(fromS)} and ${clock(toS)}, ${rate(size)} more than by its trend before (${rate(60 * worst.trend)} a minute)`,
		...gasCut(look, fromS - CRASH_ZONE_BEFORE_S, toS),
		`${rate(crashFallCMin)} more within ${crashWithinS} s is called a crash`
	];
	const thresholds: Partial<FaultThresholds> = { crashFallCMin, crashWithinS };
	return [{ name: 'crash', fromS, toS, size, unit: 'C/min', because, thresholds }];
}

/** Slope of the straight line through the rate of rise before a second, C/min per s; NaN if half of it
 * is missing. */
function trendBefore(ror: Float64Array, second: number): number {
	let count = 0;
	let sumX = 0;
	let sumY = 0;
	let sumXX = 0;
	let sumXY = 0;
	for (let x = -CRASH_TREND_S; x <= 0; x++) {
		const y = ror[second + x];
		if (y === undefined || Number.isNaN(y)) continue;
		count++;
		sumX += x;
		sumY += y;
		sumXX += x * x;
		sumXY += x * y;
	}
	if (count < CRASH_TREND_S / 2) return NaN;
	return (count * sumXY - sumX * sumY) / (count * sumXX - sumX * sumX);
}

/** A rise of the rate of rise after first crack is called a runaway or a flick, never both. */
function lateRise(look: FaultLook, name: 'flick' | 'runaway'): Finding {
	const { flickRiseCMin, runawayAboveCrackCMin } = look.settings.thresholds;
	const late = latePart(look);
	if (late === null) return { unchecked: noLatePart(look) };
	const noisy = tooNoisy(look, Math.min(flickRiseCMin, runawayAboveCrackCMin));
	if (noisy) return noisy;
	const ror = look.curve.rorCMin;
	const atCrack = valueAt(ror, late.fromS);
	const rise = largestRise(ror, late.fromS);
	if (atCrack === null || rise === null) {
		return { unchecked: 'the rate of rise is not known after first crack' };
	}
	const { fromS, toS } = rise;
	const riseCMin = ror[toS]! - ror[fromS]!;
	const aboveCMin = ror[toS]! - atCrack;
	const isRunaway = aboveCMin >= runawayAboveCrackCMin && riseCMin >= flickRiseCMin;
	if (riseCMin < flickRiseCMin || isRunaway !== (name === 'runaway')) return [];
	const seen = `rate of rise goes from ${rate(ror[fromS]!)} at ${clock(fromS)} up to ${rate(ror[toS]!)} at ${clock(toS)}; ${late.said} it was ${rate(atCrack)}`;
	const called = isRunaway
		? `${rate(runawayAboveCrackCMin)} above that is called a runaway`
		: `a rise of ${rate(flickRiseCMin)} is called a flick`;
	const size = isRunaway ? aboveCMin : riseCMin;
	const thresholds: Partial<FaultThresholds> = isRunaway
		? { flickRiseCMin, runawayAboveCrackCMin }
		: { flickRiseCMin };
	return [{ name, fromS, toS, size, unit: 'C/min', because: [seen, called], thresholds }];
}

/** The two seconds, low before high, between which the values rise most; null with no values. */
function largestRise(values: Float64Array, from: number): { fromS: number; toS: number } | null {
	let low = -1;
	let best: { fromS: number; toS: number } | null = null;
	for (let t = from; t < values.length; t++) {
		if (Number.isNaN(values[t]!)) continue;
		if (low < 0 || values[t]! < values[low]!) low = t;
		const rise = values[t]! - values[low]!;
		if (best === null || rise > values[best.toS]! - values[best.fromS]!) {
			best = { fromS: low, toS: t };
		}
	}
	return best;
}

/** Where the late part begins: first crack, else the set bean temperature. */
function latePart({ curve, marks, settings }: FaultLook): { fromS: number; said: string } | null {
	if (marks.firstCrack) return { fromS: Math.ceil(marks.firstCrack.timeS), said: 'at first crack' };
	if (marks.turningPoint === null) return null;
	const timeS = passing(curve.smoothC, settings.lateFromC, marks.turningPoint.timeS);
	if (timeS === null) return null;
	const said = `at ${settings.lateFromC} C (first crack is not marked)`;
	return { fromS: Math.ceil(timeS), said };
}

function noLatePart({ settings }: FaultLook): string {
	return `first crack is not marked and the beans do not pass ${settings.lateFromC} C`;
}

function tooNoisy(look: FaultLook, thresholdCMin: number): { unchecked: string } | null {
	if (!(NOISE_MARGIN * look.rorNoiseCMin > thresholdCMin)) return null;
	const needed = rate(thresholdCMin / NOISE_MARGIN);
	return {
		unchecked: `the rate of rise scatters by ${rate(look.rorNoiseCMin)}; the rule needs ${needed} or less`
	};
}

/** The largest cut of the gas in a span, said; nothing when the gas is unknown or never cut. */
function gasCut({ gasPct }: FaultLook, fromS: number, toS: number): string[] {
	if (gasPct === null) return ['gas is not in the log'];
	const from = Math.max(0, Math.floor(fromS));
	const cut = largestRise(gasPct.map((value) => -value).subarray(0, Math.ceil(toS) + 1), from);
	if (cut === null || cut.fromS === cut.toS) return ['gas was not cut'];
	const [before, after] = [gasPct[cut.fromS]!, gasPct[cut.toS]!];
	return [`gas was cut from ${before.toFixed(0)} to ${after.toFixed(0)} % by ${clock(cut.toS)}`];
}

/** The whole seconds around `second` over which a condition holds. */
function stretch(
	values: Float64Array,
	second: number,
	holds: (value: number) => boolean
): { readonly fromS: number; readonly toS: number } {
	let fromS = second;
	let toS = second;
	while (fromS > 0 && holds(values[fromS - 1]!)) fromS--;
	while (toS < values.length - 1 && holds(values[toS + 1]!)) toS++;
	return { fromS, toS };
}

function rate(valueCMin: number): string {
	return `${valueCMin.toFixed(1)} C/min`;
}

/** Seconds as minutes and seconds: 512.4 is `8:32`. */
function clock(seconds: number): string {
	const whole = Math.round(seconds);
	return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}

import type { Problem } from '../quantity/problem.ts';
import type { FaultName, FaultThresholds } from './faultRules.ts';
import type { DrumSettings, DrumSettingsGiven } from './settings.ts';

/**
 * What the log of a drum roast says. Rules of this room, cited in test names:
 *
 * D1 A mark that a person made is used as it is; one that is found says so and why. A first crack is
 *    never found, only heard.
 * D2 A mark that contradicts the log or another mark is set aside and named among the problems.
 * D3 The rate of rise is the slope of the least-squares parabola over the stated window. Where the whole
 *    window does not lie between charge and drop, or a gap is in it, there is none.
 * D4 The area counts from the turning point: before it the probe reads the drum, not the beans.
 * D5 A fault carries its size in the unit of its threshold, and data first as its reason.
 * D6 A fault rule that lacks what it needs is listed as not checked; only a rule that was applied can say
 *    that there is no fault.
 */

/** Raised whenever any computed figure can change; readings made by an older method are re-read. */
export const DRUM_METHOD = 'drum-1';

export interface DrumMark {
	/** Seconds from charge. */
	readonly timeS: number;
	/** Smoothed bean temperature (as measured at charge), C; null where the log has none. */
	readonly temperatureC: number | null;
	/** Rate of rise, C/min; null where the window does not fit. */
	readonly rorCMin: number | null;
	readonly from: 'marked' | 'found';
	/** How it was come by, for a person. */
	readonly because: string;
}

export interface DrumMarks {
	readonly charge: DrumMark;
	readonly turningPoint: DrumMark | null;
	readonly colourChange: DrumMark | null;
	readonly firstCrack: DrumMark | null;
	readonly drop: DrumMark;
}

export interface DrumPhase {
	readonly seconds: number;
	/** Of the time from charge to drop, 0 to 1. */
	readonly share: number;
}

/** Charge to colour change, to first crack, to drop; null where one of its two marks is missing. */
export interface DrumPhases {
	readonly drying: DrumPhase | null;
	readonly browning: DrumPhase | null;
	readonly development: DrumPhase | null;
}

export interface DrumFault {
	readonly name: FaultName;
	/** Seconds from charge. */
	readonly fromS: number;
	readonly toS: number;
	/** The quantity that the rule compares with its threshold. */
	readonly size: number;
	readonly unit: 'C/min' | 'C' | 's';
	/** What was seen, then what it is compared with. */
	readonly because: readonly string[];
	/** The thresholds used, by name. */
	readonly thresholds: Partial<FaultThresholds>;
}

/** A fault rule that could not be applied to this log. */
export interface UncheckedFault {
	readonly name: FaultName;
	readonly because: string;
}

/** On a 1 s grid from charge to drop; null where the log has no value. */
export interface DrumSeries {
	/** Seconds from charge. */
	readonly timeS: readonly number[];
	/** As measured, straight lines between rows. */
	readonly beanC: readonly (number | null)[];
	readonly rorCMin: readonly (number | null)[];
	readonly exhaustC: readonly (number | null)[] | null;
	readonly inletC: readonly (number | null)[] | null;
	readonly drumC: readonly (number | null)[] | null;
	/** Settings hold until the next row. */
	readonly gasPct: readonly (number | null)[] | null;
	readonly airPct: readonly (number | null)[] | null;
	readonly drumRpm: readonly (number | null)[] | null;
}

export interface DrumInputs {
	readonly chargeG: number | null;
	readonly outG: number | null;
	readonly settings: DrumSettings;
	/** Rows with a bean temperature between charge and drop, and the usual time between them. */
	readonly rows: number;
	readonly rowStepS: number;
	/** How temperatures at marks and the rate of rise were smoothed. */
	readonly smoothing: string;
}

export interface DrumReading {
	readonly method: string;
	readonly inputs: DrumInputs;
	readonly series: DrumSeries;
	readonly marks: DrumMarks;
	readonly phases: DrumPhases;
	readonly totalS: number;
	/** First crack to drop, s, and its share of the total time, 0 to 1. */
	readonly developmentS: number | null;
	readonly developmentRatio: number | null;
	/** Between the bean curve and `settings.areaBaseC`, turning point to drop, C min. */
	readonly areaCMin: number | null;
	/** Highest rate of rise after the turning point, C/min. */
	readonly highestRorCMin: number | null;
	/** Estimated lag of the bean probe, s, as `probeLagS` of faults.ts says; null where it can't be told. */
	readonly probeLagS: number | null;
	/** (charge - out) / charge, 0 to 1. */
	readonly weightLoss: number | null;
	/** Standard deviation of the rate of rise that the scatter of the bean temperature causes, C/min. */
	readonly rorNoiseCMin: number | null;
	readonly faults: readonly DrumFault[];
	readonly unchecked: readonly UncheckedFault[];
	/** What limits this reading, worst first; empty when nothing does. */
	readonly problems: readonly Problem[];
}

/** What is known about the batch beside its log. */
export interface DrumContext {
	readonly chargeG: number | null;
	readonly outG: number | null;
	/** The roaster's own settings; what is not given takes the default. */
	readonly settings?: DrumSettingsGiven;
}

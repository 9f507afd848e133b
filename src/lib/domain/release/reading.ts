import type { Problem } from '../quantity/problem.ts';

/**
 * What a sample roast's log says, with everything needed to judge it: the inputs used, the method's
 * version, how sure it is and what would change it.
 */

/** Raised whenever any computed figure can change; readings made by an older method are re-read. */
export const READING_METHOD = 'release-3';

export type CrackVerdict = 'distinct' | 'weak' | 'none';

/** Chance, 0 to 1, that a burst is a crack and its moment within 5 s. */
export interface CrackMarks {
	readonly onset: number;
	readonly peak: number;
	readonly end: number;
}

export interface CrackReading {
	readonly verdict: CrackVerdict;
	/** Seconds from charge; null when there is none to be found. `peakS` is the half-cracked moment. */
	readonly onsetS: number | null;
	readonly peakS: number | null;
	readonly endS: number | null;
	/** Bean temperature (else exhaust, said in `temperatureFrom`) at `peakS`, C. */
	readonly temperatureC: number | null;
	readonly temperatureFrom: 'bean' | 'exhaust' | null;
	/** Burst height over the base release at the peak; 0.6 means 60 % above. */
	readonly prominence: number | null;
	/** 0 to 1: of the verdict and of `peakS` where there is one. */
	readonly sureness: number;
	/** Of each moment; null where none was found, and missing in readings older than release-3. */
	readonly markSureness?: CrackMarks | null;
	/** Reasons in plain words, data first. */
	readonly because: readonly string[];
}

export interface ReadingInputs {
	readonly pressurePa: number;
	readonly pressureFrom: 'given' | 'altitude' | 'standard';
	/** Dry-air flow at charge, g/s; null makes the rate relative. */
	readonly airFlowGS: number | null;
	readonly sensorLagS: number;
	readonly sensorLagFrom: 'given' | 'estimated' | 'default';
	readonly humidityFrom: 'humidityRhPct' | 'humidityAbsGM3' | 'humidityRatioGKg';
	/** Which temperature the relative humidity was read at. */
	readonly humidityTemperatureFrom: 'sensorC' | 'exhaustC' | null;
	readonly chargeG: number | null;
	readonly outG: number | null;
	readonly greenMoisturePct: number | null;
	readonly earCrackS: number | null;
}

/** All on one 1 s grid from charge to drop. */
export interface ReadingSeries {
	readonly timeS: readonly number[];
	/** Water release rate, in `rateUnit`, with the sensor's lag taken off. */
	readonly rate: readonly number[];
	/** The rate without the crack burst, same unit. */
	readonly baseRate: readonly number[];
	/** As the sensor shows it, behind its lag; a constant offset is taken off where it was noticed. */
	readonly humidityRatioGKg: readonly number[];
	/** At the temperature the humidity was read at; null when the log has none. */
	readonly absoluteHumidityGM3: readonly number[] | null;
	readonly beanC: readonly number[] | null;
	readonly exhaustC: readonly number[] | null;
}

/** Water that the air carried off against the weighed loss, g. */
export interface WaterBalance {
	readonly releasedG: number;
	/** Charge less what came out. */
	readonly weighedLossG: number;
	/** Water of the green coffee; null when its moisture is not known. */
	readonly greenWaterG: number | null;
	/** Weighed loss less released water: gas, chaff and dust, and every error. */
	readonly unexplainedG: number;
	/** Whether the parts agree within what is usual. */
	readonly closes: boolean;
}

export interface SampleReading {
	readonly method: string;
	readonly inputs: ReadingInputs;
	/** `g/s` when the dry-air flow is known, else `relative` (share of the total released, per second). */
	readonly rateUnit: 'g/s' | 'relative';
	readonly series: ReadingSeries;
	readonly crack: CrackReading;
	/** Shares of all released water; they sum to 1. `around` is crack onset to end, or the matching
	 * span by temperature where no crack is found. Early is the first half of the time before it. */
	readonly shares: {
		readonly early: number;
		readonly middle: number;
		readonly around: number;
		readonly after: number;
	};
	/** Seconds at which each share ends. */
	readonly shareBoundsS: {
		readonly early: number;
		readonly middle: number;
		readonly around: number;
	};
	/** Seconds from crack onset to drop; from the crack heard by ear, and said, where none is found. */
	readonly developmentS: number | null;
	/** Development time over total roast time, 0 to 1. */
	readonly developmentRatio: number | null;
	readonly dropS: number;
	readonly dropTemperatureC: number | null;
	/** (charge - out) / charge, 0 to 1. */
	readonly weightLoss: number | null;
	/** Water carried off by the air, g; null without flow. */
	readonly waterReleasedG: number | null;
	/** Null when the flow or a weight is not known. */
	readonly balance: WaterBalance | null;
	/** What limits this reading, worst first; empty when nothing does. */
	readonly problems: readonly Problem[];
	/** 0 to 1: how far the whole reading can be relied on. */
	readonly sureness: number;
}

/** What is known about the roast beside its log. */
export interface ReadingContext {
	readonly chargeG: number | null;
	readonly outG: number | null;
	readonly greenMoisturePct: number | null;
	readonly airFlowGS: number | null;
	readonly sensorLagS: number | null;
	readonly pressurePa: number | null;
	readonly altitudeM: number | null;
	/** Humidity ratio of the room air, g/kg dry air; null takes it from the log's first seconds. */
	readonly roomHumidityGKg: number | null;
}

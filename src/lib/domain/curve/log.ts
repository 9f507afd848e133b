/**
 * A roast log as it is used for computing: one time axis in seconds from charge and one column a
 * channel in the unit its name states. A missing value is NaN. Nothing here knows about files.
 */

/** Every channel a log may hold, with its unit in the name. */
export const CHANNELS = [
	'beanC',
	'exhaustC',
	'inletC',
	'drumC',
	/** Temperature at the humidity sensor, C. Relative humidity means nothing without it. */
	'sensorC',
	/** Relative humidity at the humidity sensor, 0 to 100 %. */
	'humidityRhPct',
	/** Absolute humidity, g water vapour per m3 of moist air at the humidity sensor. */
	'humidityAbsGM3',
	/** Humidity ratio, g water per kg dry air. */
	'humidityRatioGKg',
	'airFlowGS',
	'fanPct',
	'gasPct',
	'airPct',
	'drumRpm'
] as const;

export type Channel = (typeof CHANNELS)[number];

/** What a mark on a log can be. `firstCrackEar` is heard by a person, never computed. */
export const MARKS = ['charge', 'colourChange', 'firstCrackEar', 'drop'] as const;
export type MarkName = (typeof MARKS)[number];

export interface Mark {
	readonly name: MarkName;
	/** Seconds from charge. */
	readonly timeS: number;
}

export type LogKind = 'sample' | 'drum';

export interface RoastLog {
	readonly kind: LogKind;
	/** Strictly rising, seconds from charge. */
	readonly timeS: Float64Array;
	/** Same length as timeS; NaN where the file had no value. */
	readonly channels: Partial<Record<Channel, Float64Array>>;
	readonly marks: readonly Mark[];
}

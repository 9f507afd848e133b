/** Conversions of log values into the unit that the channel's name states. */
import type { Channel } from '#lib/domain/curve/log.ts';
import type { Unit } from './words.ts';

/** Degrees Fahrenheit to Celsius, exact by definition: (F - 32) * 5 / 9. */
export function celsiusFromFahrenheit(valueF: number): number {
	return ((valueF - 32) * 5) / 9;
}

/** Factor or function from each unit to the one kept inside; units kept as they are aren't listed. */
export function toChannelUnit(value: number, unit: Unit | null): number {
	if (unit === 'F') return celsiusFromFahrenheit(value);
	if (unit === '0-1') return value * 100;
	if (unit === 'kg/kg') return value * 1000;
	if (unit === 'kg/h') return value / 3.6;
	return value;
}

export interface Range {
	readonly from: number;
	readonly to: number;
	readonly unit: string;
}

const TEMPERATURE: Range = { from: -50, to: 800, unit: 'C' };
const SHARE: Range = { from: -5, to: 150, unit: '%' };

/**
 * What a sensor or setting can show at all; a value outside is a broken sensor, a sentinel or a wrong
 * unit. Wide on purpose (common practice, no source): what is merely odd is for the reading to judge.
 */
export const POSSIBLE: Readonly<Record<Channel, Range>> = {
	beanC: TEMPERATURE,
	exhaustC: TEMPERATURE,
	inletC: TEMPERATURE,
	drumC: TEMPERATURE,
	sensorC: TEMPERATURE,
	humidityRhPct: { from: -5, to: 110, unit: '%' },
	humidityAbsGM3: { from: -5, to: 1000, unit: 'g/m3' },
	humidityRatioGKg: { from: -5, to: 5000, unit: 'g/kg' },
	airFlowGS: { from: -1, to: 10_000, unit: 'g/s' },
	fanPct: SHARE,
	gasPct: SHARE,
	airPct: SHARE,
	drumRpm: { from: -1, to: 500, unit: 'rpm' }
};

/**
 * Moist air as an ideal gas: no enhancement factor, so the humidity ratio at saturation is .5 % low
 * at 25 C and 1.2 % low at 85 C against the real-gas tables of the ASHRAE handbook.
 *
 * Rules:
 * 1. A humidity ratio is g of water for each kg of dry air; an absolute humidity is g of water for
 *    each m3 of moist air at its own temperature; a relative humidity is a per cent of saturation.
 * 2. The vapour's pressure can't pass the saturation pressure or the air's own pressure. A reading
 *    that says so is an error and is never converted: the plain functions give NaN, `airFrom...`
 *    gives the problem.
 * 3. Nothing is extrapolated: outside 0..200 C the answer is NaN or a problem.
 */
import type { Outcome, Problem } from '../quantity/problem.ts';
import { bad, good } from '../quantity/problem.ts';
import { SATURATION_RANGE_C, ZERO_C_IN_K, dewPointC, saturationPressurePa } from './saturation.ts';

/** Ratio of the molar masses of water and dry air (ASHRAE Fundamentals 2017, chapter 1). */
const MASS_RATIO = 0.621945;
/** Gas constant of water vapour, J/(kg K). */
const VAPOUR_GAS_CONSTANT = 461.526;
/** Gas constant of dry air, J/(kg K) (ASHRAE Fundamentals 2017, chapter 1). */
const DRY_AIR_GAS_CONSTANT = 287.042;

/** Everything that follows from a humidity, a temperature and a pressure. */
export interface MoistAir {
	readonly temperatureC: number;
	readonly pressurePa: number;
	readonly vapourPressurePa: number;
	readonly relativeHumidityPct: number;
	readonly humidityRatioGKg: number;
	readonly absoluteHumidityGM3: number;
	/** NaN below 0 C, where the dew point becomes a frost point. */
	readonly dewPointC: number;
	/** kg of moist air for each m3. */
	readonly densityKgM3: number;
}

/** A humidity reading that the air can't hold at that temperature and pressure. */
export interface CeilingProblem extends Problem {
	readonly reading: number;
	readonly ceiling: number;
	readonly unit: '%' | 'g/m3';
	readonly temperatureC: number;
}

/**
 * The highest relative humidity that air at this temperature and pressure can hold, per cent: 100 up
 * to the boiling point, less above it, since the vapour can't press harder than the air as a whole.
 */
export function relativeHumidityCeilingPct(temperatureC: number, pressurePa: number): number {
	return Math.min(100, (100 * pressurePa) / saturationPressurePa(temperatureC));
}

/** Humidity ratio, g/kg, from the vapour's and the air's pressure; NaN unless 0 <= vapour < air. */
export function humidityRatioGKg(vapourPressurePa: number, pressurePa: number): number {
	if (!(vapourPressurePa >= 0 && vapourPressurePa < pressurePa)) return NaN;
	return (1000 * MASS_RATIO * vapourPressurePa) / (pressurePa - vapourPressurePa);
}

/** Vapour pressure, Pa, from a humidity ratio in g/kg; NaN when it is negative. */
export function vapourPressurePa(ratioGKg: number, pressurePa: number): number {
	if (!(ratioGKg >= 0)) return NaN;
	return (pressurePa * ratioGKg) / (1000 * MASS_RATIO + ratioGKg);
}

/**
 * Humidity ratio, g/kg, from a relative humidity in per cent, or NaN where the reading is above the
 * ceiling, below nought or outside 0..200 C (rules 2 and 3).
 */
export function humidityRatioFromRhGKg(
	relativeHumidityPct: number,
	temperatureC: number,
	pressurePa: number
): number {
	const saturationPa = saturationPressurePa(temperatureC);
	const pressure = (relativeHumidityPct / 100) * saturationPa;
	return pressure <= saturationPa ? humidityRatioGKg(pressure, pressurePa) : NaN;
}

/** Absolute humidity, g/m3, from the vapour's pressure and temperature. */
export function absoluteHumidityGM3(vapourPressurePa: number, temperatureC: number): number {
	return (1000 * vapourPressurePa) / (VAPOUR_GAS_CONSTANT * (temperatureC + ZERO_C_IN_K));
}

/** Vapour pressure, Pa, from an absolute humidity in g/m3 at its temperature. */
export function vapourPressureFromAbsolutePa(absoluteGM3: number, temperatureC: number): number {
	return (absoluteGM3 * VAPOUR_GAS_CONSTANT * (temperatureC + ZERO_C_IN_K)) / 1000;
}

/**
 * Humidity ratio, g/kg, from an absolute humidity in g/m3, or NaN where the air can't hold it
 * (rules 2 and 3).
 */
export function humidityRatioFromAbsoluteGKg(
	absoluteGM3: number,
	temperatureC: number,
	pressurePa: number
): number {
	const pressure = vapourPressureFromAbsolutePa(absoluteGM3, temperatureC);
	return pressure <= saturationPressurePa(temperatureC)
		? humidityRatioGKg(pressure, pressurePa)
		: NaN;
}

/** Density of moist air, kg/m3. */
export function densityKgM3(ratioGKg: number, temperatureC: number, pressurePa: number): number {
	const ratio = ratioGKg / 1000;
	const volumePerKgDryAir =
		(DRY_AIR_GAS_CONSTANT * (temperatureC + ZERO_C_IN_K) * (1 + ratio / MASS_RATIO)) / pressurePa;
	return (1 + ratio) / volumePerKgDryAir;
}

/** Moist air from its relative humidity, or every reason why the reading is impossible. */
export function airFromRelativeHumidity(
	relativeHumidityPct: number,
	temperatureC: number,
	pressurePa: number
): Outcome<MoistAir> {
	const ceiling = relativeHumidityCeilingPct(temperatureC, pressurePa);
	const problems = stateProblems(relativeHumidityPct, '%', temperatureC, pressurePa, ceiling);
	if (problems.length > 0) return bad(...problems);
	const vapour = (relativeHumidityPct / 100) * saturationPressurePa(temperatureC);
	return good(moistAir(vapour, temperatureC, pressurePa));
}

/** Moist air from its absolute humidity in g/m3, or every reason why the reading is impossible. */
export function airFromAbsoluteHumidity(
	absoluteGM3: number,
	temperatureC: number,
	pressurePa: number
): Outcome<MoistAir> {
	const highestPa = Math.min(saturationPressurePa(temperatureC), pressurePa);
	const ceiling = absoluteHumidityGM3(highestPa, temperatureC);
	const problems = stateProblems(absoluteGM3, 'g/m3', temperatureC, pressurePa, ceiling);
	if (problems.length > 0) return bad(...problems);
	const vapour = vapourPressureFromAbsolutePa(absoluteGM3, temperatureC);
	return good(moistAir(vapour, temperatureC, pressurePa));
}

function moistAir(vapour: number, temperatureC: number, pressurePa: number): MoistAir {
	const ratio = humidityRatioGKg(vapour, pressurePa);
	return {
		temperatureC,
		pressurePa,
		vapourPressurePa: vapour,
		relativeHumidityPct: (100 * vapour) / saturationPressurePa(temperatureC),
		humidityRatioGKg: ratio,
		absoluteHumidityGM3: absoluteHumidityGM3(vapour, temperatureC),
		dewPointC: dewPointC(vapour),
		densityKgM3: densityKgM3(ratio, temperatureC, pressurePa)
	};
}

function stateProblems(
	reading: number,
	unit: '%' | 'g/m3',
	temperatureC: number,
	pressurePa: number,
	ceiling: number
): readonly Problem[] {
	const { lowest, highest } = SATURATION_RANGE_C;
	if (!(pressurePa > 0 && pressurePa < Infinity)) {
		return [{ path: 'pressure', message: `Pressure is ${pressurePa} Pa; expected more than 0.` }];
	}
	if (!(temperatureC >= lowest && temperatureC <= highest)) {
		return [
			{
				path: 'temperature',
				message: `Temperature is ${temperatureC} C; expected ${lowest} to ${highest} C.`
			}
		];
	}
	if (!(reading >= 0)) {
		return [{ path: 'humidity', message: `Humidity is ${reading} ${unit}; expected 0 or more.` }];
	}
	// At the boiling point and above, the ceiling itself is pure steam, without dry air to refer to.
	const steam = saturationPressurePa(temperatureC) >= pressurePa;
	return reading > ceiling || (steam && reading === ceiling)
		? [ceilingProblem(reading, unit, temperatureC, ceiling)]
		: [];
}

/** The words and figures for a reading above the physical ceiling (rule 2). */
export function ceilingProblem(
	reading: number,
	unit: '%' | 'g/m3',
	temperatureC: number,
	ceiling: number
): CeilingProblem {
	const message =
		`Humidity reads ${round(reading)} ${unit} at ${round(temperatureC)} C, where air can hold at ` +
		`most ${round(ceiling)} ${unit}: check the sensor, or the temperature it was read at.`;
	return { path: 'humidity', message, reading, ceiling, unit, temperatureC };
}

function round(value: number): string {
	return String(Number(value.toPrecision(4)));
}

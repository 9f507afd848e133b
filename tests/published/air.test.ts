/**
 * Moist air against published tables and general-purpose libraries. Sources stand beside the values.
 * `iapws` is the Python library iapws 1.5.2, an implementation of the IAPWS releases; PsychroLib is
 * the npm package psychrolib 1.1.1, an implementation of ASHRAE Fundamentals 2017, chapter 1.
 */
import psychrolib from 'psychrolib';
import { beforeAll, describe, expect, it } from 'vitest';
import {
	airFromRelativeHumidity,
	densityKgM3,
	humidityRatioGKg,
	relativeHumidityCeilingPct,
	type MoistAir
} from '#lib/domain/air/humidity.ts';
import { standardPressurePa } from '#lib/domain/air/pressure.ts';
import {
	dewPointC,
	saturationPressureIapwsPa,
	saturationPressurePa
} from '#lib/domain/air/saturation.ts';

const SEA_LEVEL_PA = 101325;

function air(temperatureC: number, rhPct: number, pressurePa = SEA_LEVEL_PA): MoistAir {
	const outcome = airFromRelativeHumidity(rhPct, temperatureC, pressurePa);
	if (!outcome.ok) throw new Error(outcome.problems[0]?.message);
	return outcome.value;
}

function expectWithin(found: number, expected: number, relative: number) {
	expect(Math.abs(found - expected) / Math.abs(expected)).toBeLessThan(relative);
}

/** C; IF97 region 4 and IAPWS SR1-86 by iapws 1.5.2; Hyland-Wexler by PsychroLib's equation. Pa. */
const SATURATION = [
	[0.01, 611.657, 611.657, 611.657],
	[5, 872.575, 872.53, 872.487],
	[10, 1228.184, 1228.112, 1227.995],
	[20, 2339.215, 2339.194, 2338.804],
	[25, 3169.747, 3169.824, 3169.216],
	[40, 7384.427, 7385.11, 7383.46],
	[50, 12351.27, 12352.479, 12349.856],
	[60, 19945.802, 19947.383, 19943.761],
	[80, 47414.72, 47415.784, 47411.611],
	[100, 101417.978, 101417.994, 101418.717],
	[120, 198665.4, 198671.425, 198685.157],
	[150, 476101.381, 476158.724, 476197.876],
	[180, 1002634.569, 1002811.446, 1002871.094],
	[200, 1554671.868, 1554939.222, 1555073.746]
] as const;

describe('saturation pressure', () => {
	it.each(SATURATION)('at %f C agrees with both IAPWS equations', (tC, if97, sr1, hylandWexler) => {
		expectWithin(saturationPressurePa(tC), hylandWexler, 1e-6);
		expectWithin(saturationPressureIapwsPa(tC), sr1, 1e-6);
		expectWithin(saturationPressurePa(tC), if97, 3e-4);
		expectWithin(saturationPressurePa(tC), saturationPressureIapwsPa(tC), 3e-4);
	});

	// The three fixed points of IAPWS SR1-86: triple, normal boiling and critical point.
	it.each([
		[273.16, 611.657],
		[373.1243, 101325],
		[647.096, 22.064e6]
	])('by Wagner and Pruss at %f K meets the fixed point', (tK, expected) => {
		expectWithin(saturationPressureIapwsPa(tK - 273.15), expected, 2e-7);
	});

	// PsychroLib tests/test_psychrolib_si.py, from ASHRAE Fundamentals 2017, chapter 1, table 3.
	it.each([
		[5, 872.6],
		[25, 3169.7],
		[50, 12351.3],
		[100, 101418],
		[150, 476101.4]
	])('at %f C meets the printed ASHRAE table', (tC, expected) => {
		expectWithin(saturationPressurePa(tC), expected, 3e-4);
	});
});

describe('humidity', () => {
	// Computed with PsychroLib 1.1.1; absolute humidity with the ideal gas law, R/M = 461.526 J/(kg K).
	it.each([
		[20, 60, 101325, 1403.28222, 8.734481, 12.00747, 10.371915, 1.19784718],
		[25, 50, 101325, 1584.60824, 9.881044, 13.86397, 11.515715, 1.17695819],
		[25, 50, 95461, 1584.60824, 10.498264, 13.86397, 11.515715, 1.10843876],
		[60, 30, 101325, 5983.12819, 39.029826, 36.11146, 38.912785, 1.03592054],
		[80, 20, 101325, 9482.32229, 64.212881, 44.77408, 58.178073, 0.96420287],
		[100, 10, 101325, 10141.87168, 69.176025, 46.08572, 58.889585, 0.91019583],
		[120, 5, 101325, 9934.25786, 67.605994, 45.68096, 54.749603, 0.86458862],
		[150, 2, 101325, 9523.95752, 64.524079, 44.85916, 48.7671, 0.80456908],
		[180, 1, 101325, 10028.71094, 68.319388, 45.86599, 47.952026, 0.74983695]
	])('at %f C, %f %%, %f Pa', (tC, rh, pressure, vapour, ratio, dewPoint, absolute, density) => {
		const found = air(tC, rh, pressure);
		expectWithin(found.vapourPressurePa, vapour, 1e-6);
		expectWithin(found.humidityRatioGKg, ratio, 1e-6);
		expectWithin(found.absoluteHumidityGM3, absolute, 1e-6);
		expectWithin(found.densityKgM3, density, 1e-6);
		expect(Math.abs(found.dewPointC - dewPoint)).toBeLessThan(1e-4);
	});

	// Computed with PsychroLib 1.1.1.
	it.each([
		[1000, 6.97148],
		[2000, 17.49805],
		[5000, 32.87812],
		[10000, 45.80991],
		[20000, 60.06085],
		[50000, 81.31828],
		[101325, 99.9741]
	])('has its dew point for %f Pa of vapour', (vapour, expected) => {
		expect(Math.abs(dewPointC(vapour) - expected)).toBeLessThan(1e-4);
	});

	it('meets the examples of PsychroLib tests/test_psychrolib_si.py', () => {
		expectWithin(humidityRatioGKg(3169.7, 95461), 21.3603998047487, 1e-6);
		expectWithin(densityKgM3(20, 30, 95461), 1.08411986348219, 3e-4);
		// GetTDewPointFromRelHum, the example in the library's own header.
		expect(Math.abs(air(25, 80).dewPointC - 21.3094)).toBeLessThan(1e-4);
		// ASHRAE table 2 is for a real gas; the library allows the ideal gas these distances.
		for (const [tC, expected, relative] of [
			[5, 5.425, 0.005],
			[25, 20.173, 0.005],
			[50, 86.863, 0.01],
			[85, 838.105, 0.02]
		] as const) {
			expectWithin(air(tC, 100).humidityRatioGKg, expected, relative);
		}
	});

	// ASHRAE Fundamentals 2017, chapter 1, table 1, as in PsychroLib tests/test_psychrolib_si.py.
	it.each([
		[500, 95461],
		[1000, 89875]
	])('has the standard pressure at %f m', (altitudeM, expected) => {
		expect(Math.abs(standardPressurePa(altitudeM) - expected)).toBeLessThan(1);
	});

	// Air pressure over IF97 saturation pressure, iapws 1.5.2.
	it.each([
		[110, 70.671],
		[120, 51.003],
		[130, 37.492],
		[140, 28.029],
		[150, 21.282],
		[180, 10.106],
		[200, 6.5175]
	])('has its ceiling at %f C, and nothing above it is converted', (tC, ceiling) => {
		expectWithin(relativeHumidityCeilingPct(tC, SEA_LEVEL_PA), ceiling, 4e-4);
		expect(airFromRelativeHumidity(ceiling * 1.001, tC, SEA_LEVEL_PA).ok).toBe(false);
		expect(airFromRelativeHumidity(ceiling * 0.999, tC, SEA_LEVEL_PA).ok).toBe(true);
	});

	it('gives the water that an air stream carries off', () => {
		// 10 g/s of dry air from 25 C and 50 % to 150 C and 2 %: .546430 g/s, PsychroLib 1.1.1.
		const gained = air(150, 2).humidityRatioGKg - air(25, 50).humidityRatioGKg;
		expectWithin((10 * gained) / 1000, 0.54643, 1e-5);
	});
});

describe('against the library PsychroLib over its valid range', () => {
	beforeAll(() => psychrolib.SetUnitSystem(psychrolib.SI));

	it('agrees on a grid of temperatures, humidities and pressures', () => {
		let compared = 0;
		for (const pressure of [80000, 95461, 101325]) {
			for (let tC = 1; tC <= 199; tC += 3) {
				for (const share of [0.02, 0.2, 0.5, 0.9]) {
					const rh = share * relativeHumidityCeilingPct(tC, pressure);
					const found = air(tC, rh, pressure);
					const ratio = psychrolib.GetHumRatioFromRelHum(tC, rh / 100, pressure);
					expectWithin(found.humidityRatioGKg, 1000 * ratio, 1e-6);
					expectWithin(found.densityKgM3, psychrolib.GetMoistAirDensity(tC, ratio, pressure), 1e-6);
					compared++;
					// Below 0 C its dew point is a frost point, which ours does not give.
					if (Number.isNaN(found.dewPointC)) continue;
					const dewPoint = psychrolib.GetTDewPointFromRelHum(tC, rh / 100);
					expect(Math.abs(found.dewPointC - dewPoint)).toBeLessThan(0.01);
				}
			}
		}
		expect(compared).toBe(3 * 67 * 4);
	});

	it('refuses what the library silently clamps: 50 % at 150 C', () => {
		expect(psychrolib.GetHumRatioFromRelHum(150, 0.5, SEA_LEVEL_PA)).toBe(1e-7);
		expect(airFromRelativeHumidity(50, 150, SEA_LEVEL_PA).ok).toBe(false);
	});
});

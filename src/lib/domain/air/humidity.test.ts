import { describe, expect, it } from 'vitest';
import {
	absoluteHumidityGM3,
	airFromAbsoluteHumidity,
	airFromRelativeHumidity,
	humidityRatioFromAbsoluteGKg,
	humidityRatioFromRhGKg,
	humidityRatioGKg,
	relativeHumidityCeilingPct,
	vapourPressurePa
} from './humidity.ts';
import { standardPressurePa } from './pressure.ts';
import { dewPointC, saturationPressureIapwsPa, saturationPressurePa } from './saturation.ts';

const SEA_LEVEL_PA = 101325;

describe('moist air', () => {
	it('goes from relative to absolute humidity and back, 0.1 to 200 C (rule 1)', () => {
		for (const temperatureC of [0.1, 20, 45, 80, 99, 120, 150, 200]) {
			const rh = 0.6 * relativeHumidityCeilingPct(temperatureC, SEA_LEVEL_PA);
			const there = airFromRelativeHumidity(rh, temperatureC, SEA_LEVEL_PA);
			if (!there.ok) throw new Error(there.problems[0]?.message);
			const back = airFromAbsoluteHumidity(
				there.value.absoluteHumidityGM3,
				temperatureC,
				SEA_LEVEL_PA
			);
			if (!back.ok) throw new Error(back.problems[0]?.message);
			expect(back.value.relativeHumidityPct / rh).toBeCloseTo(1, 12);
			expect(back.value.humidityRatioGKg / there.value.humidityRatioGKg).toBeCloseTo(1, 12);
		}
	});

	it('goes from vapour pressure to humidity ratio and back (rule 1)', () => {
		expect(vapourPressurePa(humidityRatioGKg(2500, SEA_LEVEL_PA), SEA_LEVEL_PA)).toBeCloseTo(
			2500,
			9
		);
		expect(humidityRatioGKg(0, SEA_LEVEL_PA)).toBe(0);
	});

	it('refuses a reading above the ceiling and says reading, ceiling and temperature (rule 2)', () => {
		const outcome = airFromRelativeHumidity(50, 150, SEA_LEVEL_PA);
		if (outcome.ok) throw new Error('a reading of 50 % at 150 C was converted');
		const problem = outcome.problems[0];
		expect(problem).toMatchObject({ reading: 50, unit: '%', temperatureC: 150 });
		expect(problem?.message).toContain('50 %');
		expect(problem?.message).toContain('150 C');
		expect(problem?.message).toContain('21.28 %');
		expect(humidityRatioFromRhGKg(50, 150, SEA_LEVEL_PA)).toBeNaN();
	});

	it('refuses more than saturation below the boiling point (rule 2)', () => {
		expect(airFromRelativeHumidity(100, 40, SEA_LEVEL_PA).ok).toBe(true);
		expect(airFromRelativeHumidity(101, 40, SEA_LEVEL_PA).ok).toBe(false);
		expect(humidityRatioFromRhGKg(101, 40, SEA_LEVEL_PA)).toBeNaN();
		const saturated = absoluteHumidityGM3(saturationPressurePa(40), 40);
		expect(humidityRatioFromAbsoluteGKg(saturated * 1.01, 40, SEA_LEVEL_PA)).toBeNaN();
		expect(airFromAbsoluteHumidity(saturated * 1.01, 40, SEA_LEVEL_PA).ok).toBe(false);
	});

	it('refuses pure steam, which has no dry air to refer to (rule 2)', () => {
		const ceiling = relativeHumidityCeilingPct(150, SEA_LEVEL_PA);
		expect(airFromRelativeHumidity(ceiling, 150, SEA_LEVEL_PA).ok).toBe(false);
		expect(humidityRatioGKg(SEA_LEVEL_PA, SEA_LEVEL_PA)).toBeNaN();
	});

	it.each([
		['a negative humidity', -1, 50, SEA_LEVEL_PA, 'humidity'],
		['no humidity', NaN, 50, SEA_LEVEL_PA, 'humidity'],
		['a temperature above 200 C', 1, 201, SEA_LEVEL_PA, 'temperature'],
		['a temperature below 0 C', 1, -1, SEA_LEVEL_PA, 'temperature'],
		['no temperature', 1, NaN, SEA_LEVEL_PA, 'temperature'],
		['a pressure of nought', 1, 50, 0, 'pressure'],
		['no pressure', 1, 50, NaN, 'pressure']
	])('refuses %s and says which field (rule 3)', (_, humidity, temperatureC, pressurePa, path) => {
		for (const convert of [airFromRelativeHumidity, airFromAbsoluteHumidity]) {
			const outcome = convert(humidity, temperatureC, pressurePa);
			expect(outcome.ok ? [] : outcome.problems.map((problem) => problem.path)).toEqual([path]);
		}
	});

	it('gives NaN, never a number, outside the range of the equations (rule 3)', () => {
		for (const outside of [-0.1, 200.1, NaN]) expect(saturationPressurePa(outside)).toBeNaN();
		for (const outside of [0, 374, NaN]) expect(saturationPressureIapwsPa(outside)).toBeNaN();
		for (const outside of [0, 600, 1.6e6, NaN]) expect(dewPointC(outside)).toBeNaN();
		for (const outside of [-5001, 11001, NaN]) expect(standardPressurePa(outside)).toBeNaN();
		expect(humidityRatioFromRhGKg(-1, 50, SEA_LEVEL_PA)).toBeNaN();
		expect(vapourPressurePa(-1, SEA_LEVEL_PA)).toBeNaN();
	});

	it('finds the dew point as the inverse of saturation to a billionth of a degree', () => {
		for (let temperatureC = 0.5; temperatureC <= 199.5; temperatureC += 0.5) {
			expect(dewPointC(saturationPressurePa(temperatureC))).toBeCloseTo(temperatureC, 9);
		}
	});
});

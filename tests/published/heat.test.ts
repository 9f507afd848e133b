import { describe, expect, it } from 'vitest';
import { heatDifferences, heatTaken } from '#lib/domain/drum/heatDemand.ts';
import { capacityKJPerK, driedIn, dryBasis, reactionKW } from '#lib/domain/drum/beanHeat.ts';
import { HEAT_FROM_C, HEAT_TO_C, type LotHeat } from '#lib/domain/drum/lotHeat.ts';
import { leastSquares, standardErrors } from '#lib/domain/stats/leastSquares.ts';

/**
 * The roast model's equations are attributed to Schwartzberg (2002) by Bustos-Vanegas et al., Front. Food
 * Sci. Technol. 5 (2025) 1603783, and by Vosloo, MEng thesis, North-West University 2017 (10394/26094); the
 * constant 116,200 and the latent heat of 2790 kJ/kg are from memory. The values below are recomputed from
 * those equations; they check the arithmetic, not the coffee.
 */
describe('heat of a roasting bean, by the model', () => {
	it.each([
		[100, 0.0462202],
		[150, 0.2636452],
		[180, 0.623221],
		[200, 1.0408896],
		[220, 1.6676334]
	])('gives the reaction heat at %d C', (beanC, kW) => {
		expect(reactionKW(beanC, 0)).toBeCloseTo(kW, 6);
		expect(reactionKW(beanC, 116)).toBeCloseTo(kW / 2, 6);
	});

	it.each([
		[25, 0.12, 1.6732143],
		[100, 0.1, 2.09],
		[180, 0.04, 2.4605769],
		[200, 0.02, 2.5480392]
	])('gives the heat capacity at %d C, %d kg/kg', (beanC, x, moist) => {
		expect(capacityKJPerK(beanC, x) / (1 + x)).toBeCloseTo(moist, 6);
	});

	// 1/X = 1/X0 + k t with k for 6 mm beans.
	it.each([
		[0.0085297096, [0.1130567, 0.0918084, 0.074343]],
		[0.0400596355, [0.0931367, 0.0491371, 0.0308936]],
		[0.1007474871, [0.0695498, 0.0259352, 0.0145387]]
	])('dries by the closed form, in one step or in many (k %d)', (perS, [x60, x300, x600]) => {
		expect(0.12 - driedIn(perS, 0.12, 60)).toBeCloseTo(x60!, 7);
		let x = 0.12;
		for (let t = 1; t <= 600; t++) {
			x -= driedIn(perS, x, 1);
			if (t === 300) expect(x).toBeCloseTo(x300!, 7);
		}
		expect(x).toBeCloseTo(x600!, 7);
	});

	it('turns wet basis into dry basis', () => {
		expect(dryBasis(11)).toBeCloseTo(0.1235955, 7);
		expect(dryBasis(12.5)).toBeCloseTo(0.1428571, 7);
	});
});

function made(x0: number, perS: number): LotHeat {
	return {
		x0,
		perS: new Float64Array(HEAT_TO_C - HEAT_FROM_C + 1).fill(perS),
		knownFromC: HEAT_FROM_C,
		knownToC: HEAT_TO_C,
		sampleHeat: null,
		lacked: []
	};
}

describe('H13: heat taken up along a bean curve', () => {
	const curve = Float64Array.from({ length: 301 }, (_, t) => 50 + t / 2);
	const still = { latentKJPerKg: 2790, reaction: 0 };

	it('is, for beans that neither dry nor react, the integral of the heat capacity', () => {
		const last = heatTaken(made(0.12, 0), curve, still).at(-1)!;
		const closed = (1.099 + 0.6) * 150 + (0.007 * (200 ** 2 - 50 ** 2)) / 2;
		expect(last.totalKJ).toBeCloseTo(closed, 9);
		expect(last.waterG).toBe(0);
	});

	it('is, at one temperature, the latent heat of the closed form', () => {
		const flat = new Float64Array(601).fill(150);
		const last = heatTaken(made(0.12, 0.0085297096), flat, still).at(-1)!;
		expect(last.totalKJ).toBeCloseTo(2790 * (0.12 - 0.074343), 3);
		expect(last.warmingKJ).toBe(0);
	});

	it('never gives more reaction heat than there is', () => {
		const hot = new Float64Array(6000).fill(230);
		const last = heatTaken(made(0.12, 0), hot, { ...still, reaction: 1 }).at(-1)!;
		expect(last.reactionKJ).toBeGreaterThan(231);
		expect(last.reactionKJ).toBeLessThan(233);
	});

	it('differs, between lots with one per cent more water that stays, by the warming of that water', () => {
		const figures = { reference: still, next: still };
		const [row] = heatDifferences(made(0.12, 0), made(0.13, 0), curve, figures, [200]);
		expect(row!.totalKJ).toBeCloseTo(5 * 0.01 * 150, 9);
	});

	it('differs by the latent heat of the water that one releases more', () => {
		const figures = { reference: still, next: still };
		const rows = heatDifferences(
			made(0.12, 0.01),
			made(0.12, 0.02),
			curve,
			figures,
			[100, 190, 900]
		);
		expect(rows.map(({ beanC }) => beanC)).toEqual([100, 190]);
		for (const { latentKJ, waterG } of rows) {
			expect(waterG).toBeGreaterThan(0);
			expect(latentKJ).toBeCloseTo(2.79 * waterG, 9);
		}
	});
});

/**
 * Misra1a of the NIST Statistical Reference Datasets for nonlinear regression, certified values (from
 * memory; SciPy 1.17 gives the same).
 */
it('finds the certified parameters and standard errors of Misra1a', () => {
	const y = [
		10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.4, 75.47, 81.78
	];
	const x = [
		77.6, 114.9, 141.1, 190.8, 239.9, 289, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760
	];
	const residuals = ([b1, b2]: readonly number[]) =>
		Float64Array.from(x, (value, i) => b1! * (1 - Math.exp(-b2! * 1e-3 * value)) - y[i]!);
	const fit = leastSquares({ start: [250, 0.5], residuals }, 1e-9);
	expect(fit.settled).toBe(true);
	expect(fit.parameters[0]).toBeCloseTo(238.94212918, 3);
	expect(fit.parameters[1]).toBeCloseTo(0.55015643181, 6);
	expect(fit.residualSd).toBeCloseTo(0.1018787633, 7);
	const errors = standardErrors(fit.covariance, 2);
	expect(errors[0]).toBeCloseTo(2.7070075241, 3);
	expect(errors[1]).toBeCloseTo(0.0072668688436, 6);
});

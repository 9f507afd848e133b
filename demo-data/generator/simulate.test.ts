import { describe, expect, it } from 'vitest';
import { LOT_KINDS, type LotKind } from '#lib/domain/lot/lot.ts';
import { dryingConstant, heatCapacity, reactionHeatKW } from './bean.ts';
import { simulateSample } from './simulate.ts';

/**
 * The model's equations: attributed to Schwartzberg (2002) by later papers; the constants are
 * unconfirmed defaults. Reference outputs computed apart from this code in our notes (published-checks
 * 3.1, tag [ran]); they check that we coded the equations, not that coffee obeys them.
 */
describe('the balance gives the reference outputs of its equations', () => {
	it.each([
		[0.12, 25, -6.8444211e-9],
		[0.12, 100, -5.3662504e-6],
		[0.12, 150, -1.2282782e-4],
		[0.08, 180, -2.5638167e-4],
		[0.05, 200, -2.5186872e-4],
		[0.02, 220, -9.4045384e-5]
	])('drying at X %f and %f C, 6 mm', (x, celsius, perSecond) => {
		expect((-dryingConstant(celsius, 6) * x * x) / perSecond).toBeCloseTo(1, 6);
	});

	it.each([
		[150, 0.0085297096, [0.1130567, 0.0918084, 0.074343]],
		[180, 0.0400596355, [0.0931367, 0.0491371, 0.0308936]],
		[200, 0.1007474871, [0.0695498, 0.0259352, 0.0145387]],
		[220, 0.2351134595, [0.044563, 0.0126795, 0.0066934]]
	])('isothermal closed form at %f C, X0 .12, 6 mm', (celsius, constant, after) => {
		expect(dryingConstant(celsius, 6) / constant).toBeCloseTo(1, 7);
		let x = 0.12;
		const found: number[] = [];
		for (let tick = 1; tick <= 12_000; tick++) {
			x -= dryingConstant(celsius, 6) * x * x * 0.05;
			if (tick === 1200 || tick === 6000 || tick === 12_000) found.push(x);
		}
		found.forEach((value, i) => expect(value / (after[i] ?? NaN)).toBeCloseTo(1, 2));
	});

	it.each([
		[100, 0.0462202],
		[150, 0.2636452],
		[180, 0.623221],
		[200, 1.0408896],
		[220, 1.6676334]
	])('reaction heat at %f C', (celsius, kW) => {
		expect(reactionHeatKW(celsius, 0) / kW).toBeCloseTo(1, 6);
	});

	it.each([
		[25, 0.12, 1.6732143],
		[100, 0.1, 2.09],
		[180, 0.04, 2.4605769],
		[200, 0.02, 2.5480392]
	])('heat capacity at %f C and X %f', (celsius, x, kJ) => {
		expect(heatCapacity(celsius, x) / kJ).toBeCloseTo(1, 6);
	});
});

/** Our own prototype's figures (goals.md, "A simulator with a known truth"): invented, not measured. */
const TABLE: readonly (readonly [LotKind, number, number, number])[] = [
	['washed', 368, 404, 0.68],
	['natural', 337, 375, 0.36],
	['honey', 351, 382, 0.41],
	['decaf', 319, 353, 0.15],
	['old crop', 346, 378, 0.31],
	['anaerobic', 341, 376, 0.54]
];

describe('a sample roast behaves as its kind', () => {
	it.each(TABLE)('%s: crack onset, peak and burst over base', (kind, onsetS, peakS, over) => {
		const { truth } = simulateSample({ kind, seed: 1, lot: 'middle' });
		expect(Math.abs(truth.onsetS - onsetS)).toBeLessThanOrEqual(3);
		expect(Math.abs(truth.burstPeakS - peakS)).toBeLessThanOrEqual(4);
		expect(Math.abs(truth.halfCrackedS - peakS)).toBeLessThanOrEqual(8);
		expect(Math.abs(truth.burstOverBase - over)).toBeLessThanOrEqual(0.02);
	});

	it.each(LOT_KINDS)('%s: end, water and release within what was found', (kind) => {
		const { truth, chargeG, outG, log } = simulateSample({ kind, seed: 1, lot: 'middle' });
		expect(truth.endC).toBeGreaterThan(212.9);
		expect(truth.endC).toBeLessThan(221);
		const lost = (100 * truth.waterReleasedG) / chargeG;
		expect(lost).toBeGreaterThan(9.6);
		expect(lost).toBeLessThan(13.8);
		expect(truth.peakReleaseMgS).toBeGreaterThan(21.5);
		expect(truth.peakReleaseMgS).toBeLessThan(31.5);
		expect(truth.humidityRiseGKg).toBeGreaterThan(6);
		expect(truth.humidityRiseGKg).toBeLessThan(9);
		expect(chargeG - outG).toBeGreaterThan(truth.waterReleasedG);
		const sensor = log.channels.sensorC ?? new Float64Array();
		expect(Math.min(...sensor)).toBeGreaterThan(43);
		expect(Math.max(...sensor)).toBeLessThan(67.5);
	});

	it('keeps the released water as the sum of its rate', () => {
		const { truth } = simulateSample({ kind: 'honey', seed: 7 });
		const rates = truth.releaseGS;
		const ends = ((rates[0] ?? NaN) + (rates[rates.length - 1] ?? NaN)) / 2;
		const trapezoids = rates.reduce((total, rate) => total + rate, 0) - ends;
		expect(trapezoids / truth.waterReleasedG).toBeCloseTo(1, 3);
	});

	it('is the same for the same seed and another for another', () => {
		const once = simulateSample({ kind: 'natural', seed: 'a' });
		expect(simulateSample({ kind: 'natural', seed: 'a' })).toEqual(once);
		expect(simulateSample({ kind: 'natural', seed: 'b' }).outG).not.toBe(once.outG);
	});

	it('never cracks when no water is expelled', () => {
		const { truth } = simulateSample({ kind: 'washed', seed: 3, params: { burstShare: 0 } });
		expect(truth.distinct).toBe(false);
		expect(truth.halfCrackedS).toBeNaN();
	});

	it('shows a fan step in the fan channel only when it is logged', () => {
		const fanSteps = [{ atS: 300, factor: 1.15 }];
		const logged = simulateSample({ kind: 'washed', seed: 3, fanSteps });
		const silent = simulateSample({ kind: 'washed', seed: 3, fanSteps, fanLogged: false });
		expect(logged.log.channels.fanPct?.[299]).toBe(60);
		expect(logged.log.channels.fanPct?.[301]).toBeCloseTo(69, 9);
		expect(silent.log.channels.fanPct).toBeUndefined();
		expect(silent.log.channels.humidityRhPct).toEqual(logged.log.channels.humidityRhPct);
	});
});

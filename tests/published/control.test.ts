import { describe, expect, it } from 'vitest';
import { cusum, D2_OF_TWO, individuals } from '#lib/domain/stats/control.ts';

describe('limits of single values', () => {
	it('use 2.66 moving ranges: 3 over the mean range of two normal values, 1.128', () => {
		// Table of control chart constants, d2 at n = 2 (from memory: 1.128); 2 / sqrt(pi) in closed form.
		expect(D2_OF_TWO).toBeCloseTo(1.128, 3);
		expect(3 / D2_OF_TWO).toBeCloseTo(2.66, 2);
	});

	it('agree with the flow rates of NIST e-Handbook 6.3.2.2 (from memory, recomputed)', () => {
		// Printed there: mean 50.81, mean moving range 1.8778, limits 55.8041 and 45.8159 with d2 1.128.
		const found = individuals([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]);
		expect(found.centre).toBeCloseTo(50.81, 10);
		expect(found.sigma * D2_OF_TWO).toBeCloseTo(1.8778, 4);
		expect(found.high).toBeCloseTo(55.8041, 2);
		expect(found.low).toBeCloseTo(45.8159, 2);
	});
});

describe('cumulative sums', () => {
	// NIST e-Handbook 6.3.2.3, target 325, k .3175, h 4.1959 (from memory; sums recomputed by hand).
	const X = [
		324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6, 324.625,
		325.15, 328.325, 327.25, 327.825, 328.5, 326.675, 327.775, 326.875, 328.35
	];
	const found = cusum(X, { centre: 325, slack: 0.3175, limit: 4.1959 });

	it('agree with the worked table, step by step', () => {
		const high = [0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44];
		const low = [0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.25, 0.31, 0, 0, 0, 0, 0, 0, 0];
		for (const [i, value] of high.entries()) {
			expect(Math.abs(found.points[i]!.high - value), `high ${i + 1}`).toBeLessThan(0.0101);
			expect(Math.abs(found.points[i]!.low - low[i]!), `low ${i + 1}`).toBeLessThan(0.0101);
		}
	});

	it('signal at group 14, in a sum that began with group 13', () => {
		expect(found.signal).toEqual({ at: 13, since: 12, side: 'high' });
	});
});

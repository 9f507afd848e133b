import { describe, expect, it } from 'vitest';
import {
	betaGeometricPmf,
	binomialPmf,
	geometricPmf,
	poissonPmf,
	wilsonInterval
} from './discrete.ts';
import { mean, median, quantile, standardDeviation } from './summary.ts';

describe('summaries', () => {
	it('refuse too few values instead of answering NaN', () => {
		expect(() => mean([])).toThrow('at least 1');
		expect(() => standardDeviation([3])).toThrow('at least 2');
		expect(() => median([])).toThrow('at least 1');
		expect(() => quantile([1], 1.1)).toThrow('from 0 to 1');
	});

	it('leave their input in its order', () => {
		const values = [3, 1, 2];
		expect(median(values)).toBe(2);
		expect(values).toEqual([3, 1, 2]);
		expect(median([4, 1, 3, 2])).toBe(2.5);
		expect(quantile([5], 0.3)).toBe(5);
	});
});

describe('mass functions', () => {
	const total = (pmf: readonly number[]) => pmf.reduce((sum, p) => sum + p, 0);

	it('sum to one, the long tail of the beta-geometric included', () => {
		expect(total(poissonPmf(4, 60))).toBeCloseTo(1, 12);
		expect(total(binomialPmf(30, 0.83))).toBeCloseTo(1, 12);
		expect(total(geometricPmf(0.2, 200))).toBeCloseTo(1, 12);
		expect(total(betaGeometricPmf(5, 6, 2000))).toBeCloseTo(1, 11);
	});

	it('handle chances of 0 and 1', () => {
		expect(binomialPmf(3, 0)).toEqual([1, 0, 0, 0]);
		expect(binomialPmf(3, 1)).toEqual([0, 0, 0, 1]);
		expect(geometricPmf(1, 2)).toEqual([1, 0, 0]);
		expect(poissonPmf(0, 2)).toEqual([1, 0, 0]);
	});

	it('refuse parameters that are none', () => {
		expect(() => poissonPmf(-1, 3)).toThrow('Poisson mean');
		expect(() => binomialPmf(3, 1.2)).toThrow('from 0 to 1');
		expect(() => betaGeometricPmf(0, 1, 3)).toThrow('Beta(0, 1)');
		expect(() => geometricPmf(0.5, 1.5)).toThrow('whole number');
		expect(() => wilsonInterval(3, 2)).toThrow('3 of 2');
		expect(() => wilsonInterval(0, 0)).toThrow('0 of 0');
	});
});

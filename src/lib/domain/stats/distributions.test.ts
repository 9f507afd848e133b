import { describe, expect, it } from 'vitest';
import {
	betaCdf,
	betaQuantile,
	gammaCdf,
	gammaQuantile,
	logGamma,
	normalCdf,
	tQuantile
} from './distributions.ts';

describe('the gamma function', () => {
	it('is the factorial at whole numbers, and known at halves', () => {
		let factorial = 1;
		for (let n = 1; n <= 20; n += 1) {
			expect(Math.exp(logGamma(n)) / factorial).toBeCloseTo(1, 11);
			factorial *= n;
		}
		expect(logGamma(0.5)).toBeCloseTo(Math.log(Math.PI) / 2, 13);
		expect(logGamma(0.25) + logGamma(0.75)).toBeCloseTo(Math.log(Math.PI * Math.SQRT2), 13);
	});
});

describe('distribution functions, where they have a closed form', () => {
	it('gamma of shape 1 is exponential, of shape 3 a Poisson tail', () => {
		for (const x of [0.01, 0.9, 2, 3.9, 4.1, 30]) {
			expect(gammaCdf(1, x)).toBeCloseTo(1 - Math.exp(-x), 13);
			expect(gammaCdf(3, x)).toBeCloseTo(1 - Math.exp(-x) * (1 + x + (x * x) / 2), 13);
		}
	});

	it('beta of 1 and b, of a and 1, and its mirror', () => {
		for (const x of [0.001, 0.2, 0.5, 0.77, 0.999]) {
			expect(betaCdf(x, 1, 4.5)).toBeCloseTo(1 - (1 - x) ** 4.5, 13);
			expect(betaCdf(x, 6, 1)).toBeCloseTo(x ** 6, 13);
			expect(betaCdf(x, 2.5, 7) + betaCdf(1 - x, 7, 2.5)).toBeCloseTo(1, 13);
		}
	});

	it('hold at and beyond their ends', () => {
		expect([gammaCdf(2, 0), gammaCdf(2, -1), betaCdf(0, 2, 2), betaCdf(1, 2, 2)]).toEqual([
			0, 0, 0, 1
		]);
		expect(normalCdf(0)).toBe(0.5);
		expect(normalCdf(-40)).toBeLessThan(1e-300);
		expect(normalCdf(1.3) + normalCdf(-1.3)).toBeCloseTo(1, 14);
	});
});

describe('quantiles', () => {
	it('undo their distribution function', () => {
		for (const p of [1e-6, 0.025, 0.3, 0.5, 0.9, 0.9999]) {
			for (const shape of [0.4, 1, 12, 137]) {
				expect(gammaCdf(shape, gammaQuantile(p, shape)) / p).toBeCloseTo(1, 11);
				expect(betaCdf(betaQuantile(p, shape, 3), shape, 3) / p).toBeCloseTo(1, 10);
			}
		}
	});

	it('of t have their closed forms at 1 and 2 degrees of freedom', () => {
		for (const p of [0.5001, 0.6, 0.8, 0.975, 0.9999]) {
			expect(tQuantile(p, 1) / Math.tan(Math.PI * (p - 0.5))).toBeCloseTo(1, 10);
			const two = (2 * p - 1) / Math.sqrt(2 * p * (1 - p));
			expect(tQuantile(p, 2) / two).toBeCloseTo(1, 10);
			expect(tQuantile(1 - p, 2)).toBeCloseTo(-two, 8);
		}
		expect(tQuantile(0.5, 3)).toBe(0);
	});

	it('refuse what is no chance and no shape', () => {
		expect(() => tQuantile(1, 3)).toThrow('between 0 and 1');
		expect(() => tQuantile(0.9, 0)).toThrow('above 0');
		expect(() => betaQuantile(1.1, 2, 2)).toThrow('from 0 to 1');
		expect(() => gammaQuantile(1, 2)).toThrow('below 1');
		expect(() => logGamma(0)).toThrow('above 0');
	});
});

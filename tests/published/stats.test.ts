import { describe, expect, it } from 'vitest';
import {
	betaGeometricPmf,
	binomialPmf,
	geometricPmf,
	poissonPmf,
	wilsonInterval
} from '#lib/domain/stats/discrete.ts';
import { mean, median, quantile, standardDeviation } from '#lib/domain/stats/summary.ts';

function expectAll(found: readonly number[], expected: readonly number[], digits: number) {
	expect(found).toHaveLength(expected.length);
	expected.forEach((value, k) => expect(found[k], `entry ${k}`).toBeCloseTo(value, digits));
}

/** R 4.2.2 (ran): quantile(x, c(.1, .25, .5, .9), type = 7 and 6), sd(x). */
describe('summaries as R gives them', () => {
	const x = [1, 2, 4, 7, 11, 16];
	const at = [0.1, 0.25, 0.5, 0.9];

	it('agrees on quantiles of type 7 and 6', () => {
		expectAll(
			at.map((p) => quantile(x, p)),
			[1.5, 2.5, 5.5, 13.5],
			12
		);
		expectAll(
			at.map((p) => quantile(x, p, 6)),
			[1, 1.75, 5.5, 16],
			12
		);
		expect(median(x)).toBe(5.5);
	});

	it('agrees on the standard deviation', () => {
		expect(standardDeviation(x)).toBeCloseTo(5.7763887, 7);
	});

	it('agrees on the peak-flow differences of Bland & Altman 1986 (data from memory; R ran)', () => {
		const wright = [
			494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427
		];
		const mini = [
			512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451
		];
		const differences = wright.map((value, i) => value - (mini[i] ?? Number.NaN));
		expect(mean(differences)).toBeCloseTo(-2.11764706, 8);
		expect(standardDeviation(differences)).toBeCloseTo(38.76512987, 8);
	});
});

/** R 4.2.2 (ran). The cases are those of Newcombe 1998, Stat. Med. 17:857 (choice from memory). */
describe("Wilson's interval without continuity correction", () => {
	it.each([
		[81, 263, 0.25528852, 0.366209577],
		[15, 148, 0.0623864, 0.160487242],
		[0, 20, 0, 0.161125158],
		[1, 29, 0.006113214, 0.171755219]
	])('of %i in %i', (successes, trials, low, high) => {
		const interval = wilsonInterval(successes, trials);
		expect(interval.low).toBeCloseTo(low, 8);
		expect(interval.high).toBeCloseTo(high, 8);
		expect(interval.share).toBe(successes / trials);
	});
});

describe('mass functions', () => {
	it('agree with R 4.2.2 (ran): dgeom, dpois, dbinom', () => {
		expectAll(geometricPmf(0.25, 4), [0.25, 0.1875, 0.140625, 0.10546875, 0.0791015625], 12);
		const poisson = [0.0820849986, 0.2052124966, 0.2565156207, 0.2137630172, 0.1336018858];
		expectAll(poissonPmf(2.5, 4), poisson, 10);
		expectAll(binomialPmf(5, 0.3), [0.16807, 0.36015, 0.3087, 0.1323, 0.02835, 0.00243], 12);
	});

	/**
	 * scipy 1.17.1 (ran): betanbinom.pmf(k, 1, a, b), the beta-negative-binomial with one success; equal to
	 * integrating p (1 - p)^k over Beta(a, b) by quadrature.
	 */
	it.each([
		[2.5, 3.5, [0.4166666667, 0.2083333333, 0.1171875, 0.0716145833, 0.0465494792, 0.0317382812]],
		[7, 9.25, [0.4307692308, 0.2309921962, 0.1297353431, 0.0758193563, 0.0458660304, 0.0285988189]]
	])('agrees with scipy on the beta-geometric of %f, %f', (a, b, expected) => {
		expectAll(betaGeometricPmf(a, b, 5), expected, 9);
	});
});

import { describe, expect, it } from 'vitest';
import { agreementOf } from '#lib/domain/stats/agreement.ts';
import {
	betaQuantile,
	gammaQuantile,
	normalCdf,
	tQuantile
} from '#lib/domain/stats/distributions.ts';

/**
 * Bland & Altman 1986, Lancet i:307: peak expiratory flow, first readings by two meters, l/min. The
 * data are from memory; the figures were computed from them with R 4.2.2 (ran). The paper prints -79.7
 * and 75.5 for mean +- 2 SD from rounded figures (from memory): not tested against.
 */
describe('the peak-flow example of Bland & Altman', () => {
	const wright = [
		494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427
	];
	const mini = [
		512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451
	];
	const { pairs, meanDifference, spread } = agreementOf(wright.map((a, i) => ({ a, b: mini[i]! })));

	it('has its mean difference with the interval', () => {
		expect(pairs).toBe(17);
		expect(meanDifference).toBeCloseTo(-2.11764706, 8);
		expect(spread!.meanDifference.low).toBeCloseTo(-22.0488377, 7);
		expect(spread!.meanDifference.high).toBeCloseTo(17.8135436, 7);
	});

	it('has its standard deviation and limits', () => {
		expect(spread!.sd).toBeCloseTo(38.76512987, 8);
		expect(spread!.lowerLimit.value).toBeCloseTo(-78.097302, 6);
		expect(spread!.upperLimit.value).toBeCloseTo(73.862007, 6);
	});

	it('has limits that are as sure as sqrt(3 s^2 / n) says', () => {
		// scipy 1.17.1 (ran): t.ppf(.975, 16) = 2.1199052992.
		const reach = 16.2846118 * 2.1199052992;
		const { lowerLimit, upperLimit } = spread!;
		expect(lowerLimit.value - lowerLimit.low).toBeCloseTo(reach, 5);
		expect(upperLimit.high - upperLimit.value).toBeCloseTo(reach, 5);
	});
});

/** scipy 1.17.1 (ran): t.ppf, beta.ppf, gamma.ppf, norm.cdf. */
describe('distributions as scipy gives them', () => {
	it.each([
		[0.975, 1, 12.706204736174694],
		[0.975, 2, 4.302652729749462],
		[0.975, 16, 2.1199052992212546],
		[0.95, 4.5, 2.065575888878524],
		[0.995, 30, 2.7499956535672254],
		[0.6, 200, 0.25368437919014747],
		[0.9999, 3, 22.203742273205]
	])('t quantile at %f with %f degrees of freedom', (p, df, expected) => {
		expect(tQuantile(p, df) / expected).toBeCloseTo(1, 10);
	});

	it.each([
		[0.025, 11, 22, 0.18571909171656614],
		[0.975, 0.5, 3, 0.5949531330134032],
		[0.001, 40, 0.7, 0.8588553115747234]
	])('beta quantile at %f of %f and %f', (p, a, b, expected) => {
		expect(betaQuantile(p, a, b) / expected).toBeCloseTo(1, 10);
	});

	it.each([
		[0.025, 137, 115.02053443379857],
		[0.975, 0.5, 2.511943093657444],
		[0.3, 0.1, 3.5860860184109674e-6],
		[0.975, 1000, 1062.9211512248878]
	])('gamma quantile at %f of shape %f', (p, shape, expected) => {
		expect(gammaQuantile(p, shape) / expected).toBeCloseTo(1, 10);
	});

	it.each([
		[-6, 9.865876450376946e-10],
		[-1.2, 0.11506967022170822],
		[0.3, 0.6179114221889526],
		[2.5, 0.9937903346742238]
	])('normal chance below %f', (z, expected) => {
		expect(normalCdf(z) / expected).toBeCloseTo(1, 11);
	});
});

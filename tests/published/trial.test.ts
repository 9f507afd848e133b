import { expect, it } from 'vitest';
import { testsOutlook } from '#lib/domain/trial/outlook.ts';

/**
 * With no record the tests still needed after k fruitless ones are one plus a beta-negative-binomial count
 * of Beta(5, 6 + k). scipy 1.17.1 (ran): betanbinom.pmf(0..4, 1, 5, 6 + k) and its mean, plus one.
 */
it.each([
	[0, [0.4545454545, 0.2272727273, 0.1223776224, 0.0699300699, 0.041958042], 2.5],
	[2, [0.3846153846, 0.2197802198, 0.1318681319, 0.0824175824, 0.0533290239], 3],
	[6, [0.2941176471, 0.1960784314, 0.1341589267, 0.0939112487, 0.0670794634], 4]
])('agrees with scipy after %i fruitless tests', (done, chances, mean) => {
	const outlook = testsOutlook([], 'washed', done);
	chances.forEach((chance, k) => expect(outlook.chances[k]?.chance).toBeCloseTo(chance, 9));
	expect(outlook.mean).toBeCloseTo(mean, 9);
});

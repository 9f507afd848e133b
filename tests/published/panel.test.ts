import { describe, expect, it } from 'vitest';
import { concordance, ranks } from '#lib/domain/stats/concordance.ts';
import { panelAgreement } from '#lib/domain/trial/panelAgreement.ts';

/**
 * Agreement of cuppers, held to SciPy 1.17.1 (ran): `scipy.stats.friedmanchisquare(*values.T)` gives the
 * statistic and its chance, and W is the statistic over m (n - 1). The scores are made up.
 */
describe("Kendall's W against SciPy's Friedman test", () => {
	/** Four cuppers, seven coffees, with ties. */
	const TIED = [
		[84.25, 82.5, 86.0, 80.75, 84.25, 79.5, 83.0],
		[85.0, 83.25, 86.5, 82.0, 83.25, 80.0, 83.25],
		[83.5, 82.0, 85.25, 80.5, 84.0, 80.5, 82.0],
		[86.0, 84.0, 85.5, 82.25, 85.0, 81.0, 84.5]
	];

	it('corrects for ties', () => {
		const found = concordance(TIED)!;
		expect(found.chiSquared).toBeCloseTo(22.58986175115207, 10);
		expect(found.chance).toBeCloseTo(0.0009461490337593668, 10);
		expect(found.w).toBeCloseTo(0.9412442396313363, 12);
	});

	it('without ties is the plain formula', () => {
		const found = concordance([
			[1, 2, 3, 4, 5, 6],
			[2, 1, 3, 5, 4, 6],
			[1, 3, 2, 4, 6, 5]
		])!;
		expect(found.chiSquared).toBeCloseTo(13.095238095238088, 10);
		expect(found.chance).toBeCloseTo(0.022502443866208508, 10);
		expect(found.w).toBeCloseTo(0.8730158730158725, 12);
	});

	it('is 1 for one order, 0 for opposite ones, and none where all is tied or too little', () => {
		expect(
			concordance([
				[1, 2, 3],
				[5, 6, 9]
			])!.w
		).toBeCloseTo(1, 12);
		expect(
			concordance([
				[1, 2, 3],
				[3, 2, 1]
			])!.w
		).toBeCloseTo(0, 12);
		expect(
			concordance([
				[7, 7, 7],
				[7, 7, 7]
			])
		).toBeNull();
		expect(concordance([[1, 2, 3]])).toBeNull();
		expect(
			concordance([
				[1, 2],
				[1, 2]
			])
		).toBeNull();
		expect(() =>
			concordance([
				[1, 2, 3],
				[1, 2]
			])
		).toThrow(/judge 2/);
	});

	it('gives equal values the mean of their ranks', () => {
		expect(ranks([3, 1, 3, 2])).toEqual([3.5, 1, 3.5, 2]);
	});
});

/** NumPy and `scipy.stats.t.ppf(.975, 5)`, SciPy 1.17.1 (ran), of 0.5, 0.75, 1, 0.25, 0.75, 1.25. */
it('the bias of a cupper has the interval of Student’s t', () => {
	const base = [84, 82, 86, 81, 84, 83];
	const by = [0.5, 0.75, 1, 0.25, 0.75, 1.25];
	const sheet = (cupper: string, score: number, cup: number) => ({
		...{ session: 1, cup, coffee: String(cup), cupper, score }
	});
	const { cuppers } = panelAgreement(
		base.flatMap((score, i) => [
			sheet('Ada', score, i),
			sheet('Cy', score, i),
			sheet('Bo', score + by[i]!, i)
		])
	);
	const bo = cuppers.find(({ cupper }) => cupper === 'Bo')!;
	expect(bo.bias!.value).toBeCloseTo(0.75, 12);
	expect(bo.bias!.low).toBeCloseTo(0.37896847130535277, 8);
	expect(bo.bias!.high).toBeCloseTo(1.1210315286946473, 8);
	expect(bo.spread).toBeCloseTo(0.3535533905932738, 12);
});

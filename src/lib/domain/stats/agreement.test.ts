import { describe, expect, it } from 'vitest';
import { agreementByGroup, agreementOf, differencePoints } from './agreement.ts';

const pairs = (...differences: number[]) => differences.map((d) => ({ a: 100 + d, b: 100 }));

describe('agreement', () => {
	it('rules 1 and 2: is worked by hand for differences 1, 2 and 3', () => {
		const { spread, meanDifference, because } = agreementOf(pairs(1, 2, 3));
		expect(meanDifference).toBe(2);
		expect(because).toBeNull();
		expect(spread!.sd).toBe(1);
		// t(.975, 2) = .95 / sqrt(2 x .975 x .025); the error of a limit is sqrt(3 x 1 / 3) = 1.
		const t = 0.95 / Math.sqrt(2 * 0.975 * 0.025);
		expect(spread!.meanDifference.low).toBeCloseTo(2 - t / Math.sqrt(3), 10);
		expect(spread!.upperLimit.value).toBeCloseTo(2 + 1.96, 10);
		expect(spread!.upperLimit.high).toBeCloseTo(2 + 1.96 + t, 10);
		expect(spread!.lowerLimit.low).toBeCloseTo(2 - 1.96 - t, 10);
	});

	it('rule 2: another level changes the intervals and not the limits', () => {
		const wide = agreementOf(pairs(1, 2, 3, 7), 0.99).spread!;
		const usual = agreementOf(pairs(1, 2, 3, 7)).spread!;
		expect(wide.upperLimit.value).toBe(usual.upperLimit.value);
		expect(wide.upperLimit.high).toBeGreaterThan(usual.upperLimit.high);
		expect(() => agreementOf(pairs(1, 2, 3), 95)).toThrow('between 0 and 1, found 95');
	});

	it('rule 3: fewer than three pairs have a mean and the reason, no limits', () => {
		expect(agreementOf([])).toEqual({
			pairs: 0,
			meanDifference: null,
			spread: null,
			because: 'There are no pairs so far; limits of agreement need at least 3.'
		});
		expect(agreementOf(pairs(4))).toMatchObject({ meanDifference: 4, spread: null });
		expect(agreementOf(pairs(4)).because).toContain('There is 1 pair so far');
		expect(agreementOf(pairs(4, 6))).toMatchObject({ meanDifference: 5, spread: null });
	});

	it('groups by name beside the whole', () => {
		const of = (group: string, ...ds: number[]) => pairs(...ds).map((p) => ({ ...p, group }));
		const found = agreementByGroup([...of('washed', 1, 2, 3), ...of('natural', 9)]);
		expect(found.all.pairs).toBe(4);
		expect(found.groups.map(({ group }) => group)).toEqual(['natural', 'washed']);
		expect(found.groups[0]!.agreement.spread).toBeNull();
		expect(found.groups[1]!.agreement.meanDifference).toBe(2);
		expect(agreementByGroup([]).groups).toEqual([]);
	});

	it('identical measurements agree exactly', () => {
		const { spread } = agreementOf(pairs(0, 0, 0, 0));
		expect(spread!.lowerLimit).toEqual({ value: 0, low: 0, high: 0 });
	});

	it('points are difference over mean; a value that is none is named', () => {
		expect(differencePoints([{ a: 5, b: 3 }])).toEqual([{ mean: 4, difference: 2 }]);
		expect(() => agreementOf([...pairs(1, 2), { a: 3, b: Number.NaN }])).toThrow(
			'pair 3 is 3 and NaN'
		);
	});
});

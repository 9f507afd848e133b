import { describe, expect, it } from 'vitest';
import type { LotKind } from '../lot/lot.ts';
import { chanceWithin, testsOutlook, type TestHistory } from './outlook.ts';

const lots = (kind: LotKind, ...tests: number[]): TestHistory[] =>
	tests.map((testsToRelease) => ({ kind, testsToRelease }));

describe('the tests a lot still needs', () => {
	it('are those of the stated prior with no record at all (rules 1, 2)', () => {
		// By hand: a = 1 + 4, b = 4 * 1.5; P(1) = 5/11, P(2) = 5/11 * 6/12; mean 1 + 6/4.
		const outlook = testsOutlook([], 'washed', 0);
		expect(outlook.chances[0]).toEqual({ tests: 1, chance: 5 / 11 });
		expect(outlook.chances[1]?.chance).toBeCloseTo(5 / 22, 12);
		expect(outlook.mean).toBe(2.5);
		expect(outlook.basis).toBe(
			'No washed lot is released yet; a stated prior counts as 4 lots of 2.5 tests each.'
		);
	});

	it('have the pooled mean of the lots of the kind and the prior (rule 3)', () => {
		// By hand: (4 * 1.5 + 0 + 1 + 2) / (4 + 3) failures a lot.
		const outlook = testsOutlook(lots('washed', 1, 2, 3), 'washed', 0);
		expect(outlook.mean).toBeCloseTo(1 + 9 / 7, 12);
		expect(outlook.lotsOfKind).toBe(3);
	});

	it('take from other kinds no more than sixteen lots (rule 3)', () => {
		// By hand: the others and the prior average (6 + 40 * 3) / 44 failures; as 16 lots beside one own of 0.
		const outlook = testsOutlook(
			[...lots('decaf', ...Array.from({ length: 40 }, () => 4)), ...lots('washed', 1)],
			'washed',
			0
		);
		expect(outlook.mean).toBeCloseTo(1 + (16 * (126 / 44)) / 17, 12);
		expect(outlook.basis).toBe(
			'From 1 washed lot; 40 lots of other kinds and a stated prior count as 16 lots of 3.9 tests each.'
		);
	});

	it('are more for a lot that tests have not released yet (rule 1)', () => {
		const history = lots('natural', 1, 2, 2, 3, 5);
		const means = [0, 1, 2, 5].map((done) => testsOutlook(history, 'natural', done).mean);
		expect(means).toEqual([...means].sort((a, b) => a - b));
		expect(new Set(means).size).toBe(4);
	});

	it('count the tests of lots still open, which released nothing (rule 4)', () => {
		const history = lots('honey', 1, 1, 2);
		const open = [{ kind: 'honey' as const, testsWithoutRelease: 6 }];
		const shut = testsOutlook(history, 'honey', 0);
		expect(testsOutlook(history, 'honey', 0, open).mean).toBeCloseTo(shut.mean + 6 / 7, 12);
	});

	it('are told with an interval that leaves at most a tenth on either side', () => {
		for (const done of [0, 1, 4, 12]) {
			const outlook = testsOutlook(lots('washed', 1, 2, 2, 4), 'washed', done);
			expect(chanceWithin(outlook, outlook.low - 1)).toBeLessThan(0.1);
			expect(chanceWithin(outlook, outlook.high)).toBeGreaterThanOrEqual(0.9);
			expect(chanceWithin(outlook, outlook.high - 1)).toBeLessThan(0.9);
			const told = outlook.chances.reduce((sum, entry) => sum + entry.chance, 0);
			expect(told + outlook.chanceBeyond).toBeCloseTo(1, 12);
			expect(outlook.chanceBeyond).toBeLessThanOrEqual(0.01);
		}
	});

	it('narrow as the record grows', () => {
		const width = (n: number) => {
			const history = Array.from({ length: n }, () => lots('washed', 1, 2)).flat();
			const outlook = testsOutlook(history, 'washed', 0);
			return outlook.high - outlook.low;
		};
		expect(width(60)).toBeLessThan(width(0));
	});

	it('refuse counts that are none', () => {
		expect(() => testsOutlook(lots('washed', 0), 'washed', 0)).toThrow('tests to release');
		expect(() => testsOutlook([], 'washed', -1)).toThrow('tests done');
		expect(() => testsOutlook([], 'washed', 1.5)).toThrow('tests done');
	});
});

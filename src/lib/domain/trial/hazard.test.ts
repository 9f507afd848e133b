import { describe, expect, it } from 'vitest';
import type { LotKind } from '../lot/lot.ts';
import { fitHazard, hazardPmf, type TestedLot } from './hazard.ts';

const lot = (
	kind: LotKind,
	fruitless: number,
	earlyShare: number | null = null,
	released = true
): TestedLot => ({ kind, earlyShare, crackProminence: null, fruitless, released });

const many = (count: number, one: TestedLot) => Array.from({ length: count }, () => one);

describe('the chance that the next test releases', () => {
	it('is the pooled rate where all lots are alike', () => {
		// 1000 lots of one test, 1000 of two: 2000 of 3000 tests, but all that came to a second released.
		const hazard = fitHazard([...many(1000, lot('washed', 0)), ...many(1000, lot('washed', 1))]);
		expect(hazard.chance(lot('washed', 0), 1)).toBeCloseTo(0.5, 1);
		expect(hazard.chance(lot('washed', 0), 2)).toBeGreaterThan(0.95);
	});

	it('is lower for lots like those that took longer (rule 1)', () => {
		const hazard = fitHazard([
			...many(20, lot('washed', 0, 0.3)),
			...many(20, lot('washed', 3, 0.45)),
			...many(10, lot('decaf', 5, 0.38))
		]);
		expect(hazard.chance(lot('washed', 0, 0.45), 1)).toBeLessThan(
			hazard.chance(lot('washed', 0, 0.3), 1)
		);
		expect(hazard.chance(lot('decaf', 0, 0.38), 1)).toBeLessThan(
			hazard.chance(lot('washed', 0, 0.38), 1)
		);
	});

	it('is that of the mean where a lot has no reading (rule 1)', () => {
		const hazard = fitHazard([
			...many(5, lot('washed', 0, 0.3)),
			...many(5, lot('washed', 2, 0.4))
		]);
		expect(hazard.chance(lot('washed', 0), 1)).toBeCloseTo(
			hazard.chance(lot('washed', 0, 0.35), 1),
			12
		);
	});

	it('is held near the pooled rate with few lots (rule 2)', () => {
		const few = fitHazard([lot('washed', 0), lot('decaf', 1)]);
		const lots = fitHazard([...many(50, lot('washed', 0)), ...many(50, lot('decaf', 1))]);
		const apart = (of: typeof few) =>
			of.chance(lot('washed', 0), 1) - of.chance(lot('decaf', 0), 1);
		expect(apart(few)).toBeGreaterThan(0);
		expect(apart(few)).toBeLessThan(apart(lots) / 2);
	});

	it('stays what it was at the highest number seen often enough (rule 3)', () => {
		const hazard = fitHazard([...many(9, lot('washed', 2)), lot('washed', 8)]);
		expect(hazard.chance(lot('washed', 0), 3)).toBe(hazard.chance(lot('washed', 0), 30));
		expect(hazard.chance(lot('washed', 0), 2)).not.toBe(hazard.chance(lot('washed', 0), 3));
	});

	it('counts lots that no test released', () => {
		const shut = fitHazard(many(10, lot('washed', 1)));
		const open = fitHazard([...many(10, lot('washed', 1)), lot('washed', 6, null, false)]);
		expect(open.chance(lot('washed', 0), 1)).toBeLessThan(shut.chance(lot('washed', 0), 1));
	});

	it('refuses a history without tests', () => {
		expect(() => fitHazard([])).toThrow(RangeError);
	});
});

it('makes chances of further tests that sum to 1', () => {
	const hazard = fitHazard([...many(9, lot('washed', 1)), ...many(9, lot('natural', 3))]);
	const pmf = hazardPmf(hazard, lot('natural', 0), 2, 400);
	expect(pmf[0]).toBeCloseTo(hazard.chance(lot('natural', 0), 3), 12);
	expect(pmf.reduce((sum, p) => sum + p, 0)).toBeCloseTo(1, 9);
});

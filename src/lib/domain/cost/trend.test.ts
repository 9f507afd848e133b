import { describe, expect, it } from 'vitest';
import { money } from '../quantity/money.ts';
import { lotGroup, testTrend, type TestedLot } from './trend.ts';

function lots(counts: readonly number[], costed = true): TestedLot[] {
	return counts.map((tests, i) => ({
		code: `L${i}`,
		releasedOn: '2026-05-01',
		tests,
		greenG: tests * 12_000,
		net: costed ? money(tests * 10_000 + i, 'GBP') : null
	}));
}

describe('tests a lot compared', () => {
	it('says fewer only when the whole interval is below 1 (rules 2 and 3)', () => {
		const trend = testTrend(lots(Array(20).fill(4)), lots(Array(20).fill(2)), 'GBP');
		expect(trend.verdict).toBe('fewer');
		expect(trend.ratio!.ratio).toBeCloseTo(0.5, 12);
		expect(trend.ratio!.high).toBeLessThan(1);
		expect(testTrend(lots(Array(20).fill(2)), lots(Array(20).fill(4)), 'GBP').verdict).toBe('more');
	});

	it("can't tell from the same halving on a few lots", () => {
		const trend = testTrend(lots([4, 4]), lots([2, 2]), 'GBP');
		expect(trend.verdict).toBe("can't tell");
		expect(trend.ratio!.ratio).toBeCloseTo(0.5, 12);
		expect(trend.ratio!.low).toBeLessThan(1);
		expect(trend.ratio!.high).toBeGreaterThan(1);
	});

	it('compares 4 tests of 2 lots with 8 of 2 by the binomial of 4 in 12 at a half', () => {
		// By hand: outcomes no likelier than 4 of 12 are 0-4 and 8-12: 2 (1+12+66+220+495) / 4096.
		expect(testTrend(lots([4, 4]), lots([2, 2]), 'GBP').ratio!.p).toBeCloseTo(1588 / 4096, 10);
	});

	it('has nothing to compare where a group is empty', () => {
		const trend = testTrend([], lots([1, 2]), 'GBP');
		expect(trend).toMatchObject({ verdict: 'nothing to compare', ratio: null, savedG: null });
		expect(trend.reference).toMatchObject({ tests: 0, perLot: null, netPerLot: null });
	});

	it('saves green and money a lot, the less the better (rule 4)', () => {
		const { savedG, savedNet } = testTrend(lots([4, 5, 6]), lots([1, 2, 3]), 'GBP');
		expect(savedG!.each).toBe(36_000);
		expect(savedG!.low).toBeLessThan(36_000);
		expect(savedNet!.each).toEqual(money(30_000, 'GBP'));
		// Equal spread, 4 degrees of freedom: t = 2.776 (tables), standard error 12 kg * sqrt(2/3).
		expect(savedG!.high - 36_000).toBeCloseTo(2.7764451 * 12_000 * Math.sqrt(2 / 3), 1);
	});

	it('asks more of each of several comparisons (rule 5)', () => {
		const groups = [lots(Array(9).fill(3)), lots(Array(9).fill(1))] as const;
		expect(testTrend(...groups, 'GBP')).toMatchObject({ verdict: 'fewer', level: 0.95 });
		const six = testTrend(...groups, 'GBP', 60);
		expect(six.level).toBeCloseTo(1 - 0.05 / 60, 12);
		expect(six.verdict).toBe("can't tell");
	});

	it('leaves lots without costs out of the money alone', () => {
		const mixed = [...lots([2, 2]), ...lots([3], false)];
		expect(lotGroup(mixed, 'GBP')).toMatchObject({
			tests: 7,
			costedLots: 2,
			netPerLot: money(20_001, 'GBP')
		});
		expect(testTrend(lots([2, 3], false), lots([1, 2]), 'GBP').savedNet).toBeNull();
	});

	it('measures how far counts spread (rule 6)', () => {
		expect(lotGroup(lots([1, 3]), 'GBP').dispersion).toBeCloseTo(1, 12);
		expect(lotGroup(lots([2, 2, 2]), 'GBP').dispersion).toBe(0);
		expect(lotGroup(lots([2]), 'GBP').dispersion).toBeNull();
	});
});

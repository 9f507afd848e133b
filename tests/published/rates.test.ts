import { describe, expect, it } from 'vitest';
import { testTrend, type TestedLot } from '#lib/domain/cost/trend.ts';
import { exactRateInterval, exactRateRatio } from '#lib/domain/stats/exactRates.ts';

/** R 4.2.2, poisson.test (ran); the first two are the examples of its documentation. */
describe('exact rates as R gives them', () => {
	it('one rate: 137 events in 24.19893', () => {
		const { rate, low, high } = exactRateInterval({ events: 137, exposure: 24.19893 });
		expect(rate).toBeCloseTo(5.6614073, 7);
		expect(low).toBeCloseTo(4.7531248, 7);
		expect(high).toBeCloseTo(6.6927093, 7);
	});

	it.each([
		[11, 800, 21, 3011, 1.9714881, 0.8584264, 4.27726594, 0.07966863],
		[10, 100, 4, 120, 3, 0.86527915, 13.10456254, 0.06151736]
	])('two rates: %i in %i against %i in %i', (a, inA, b, inB, ratio, low, high, p) => {
		const found = exactRateRatio({ events: a, exposure: inA }, { events: b, exposure: inB });
		expect(found.ratio).toBeCloseTo(ratio, 8);
		expect(found.low).toBeCloseTo(low, 8);
		expect(found.high).toBeCloseTo(high, 8);
		expect(found.p).toBeCloseTo(p, 8);
	});

	it('the page’s comparison of lots: 11 tests of 800 lots against 21 of 3011', () => {
		const lots = (count: number, tests: number): TestedLot[] =>
			Array.from({ length: count }, (_, i) => ({
				...{ code: `L${i}`, releasedOn: '2026-05-01', tests: i < tests ? 1 : 0 },
				...{ greenG: i < tests ? 12_000 : 0, net: null }
			}));
		const { ratio, verdict } = testTrend(lots(3011, 21), lots(800, 11), 'GBP');
		expect(ratio!.ratio).toBeCloseTo(1.9714881, 7);
		expect([ratio!.low, ratio!.high].map((x) => x.toFixed(7))).toEqual(['0.8584264', '4.2772659']);
		expect(ratio!.p).toBeCloseTo(0.07966863, 8);
		expect(verdict).toBe("can't tell");
	});
});

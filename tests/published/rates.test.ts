import { describe, expect, it } from 'vitest';
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
});

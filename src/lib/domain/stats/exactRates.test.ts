import { describe, expect, it } from 'vitest';
import { binomialPmf, poissonPmf } from './discrete.ts';
import { exactRateInterval, exactRateRatio } from './exactRates.ts';

const upTo = (pmf: readonly number[]) => pmf.reduce((sum, p) => sum + p, 0);

describe('the exact interval of a rate', () => {
	it('rule 1: ends where so few and so many events have a chance of 2.5 %', () => {
		const { rate, low, high } = exactRateInterval({ events: 9, exposure: 4 });
		expect(rate).toBe(2.25);
		expect(1 - upTo(poissonPmf(4 * low, 8))).toBeCloseTo(0.025, 10);
		expect(upTo(poissonPmf(4 * high, 9))).toBeCloseTo(0.025, 10);
	});

	it('rule 1: no events have the bound that can be worked by hand', () => {
		const { rate, low, high } = exactRateInterval({ events: 0, exposure: 10 });
		expect([rate, low]).toEqual([0, 0]);
		expect(high).toBeCloseTo(-Math.log(0.025) / 10, 12);
	});

	it('rule 3: covers 95 % or more whatever the true mean', () => {
		const intervals = Array.from({ length: 40 }, (_, events) =>
			exactRateInterval({ events, exposure: 1 })
		);
		for (const mean of [0.3, 1.7, 4, 9.5]) {
			const covered = poissonPmf(mean, 39).reduce((sum, p, k) => {
				const { low, high } = intervals[k]!;
				return low <= mean && mean <= high ? sum + p : sum;
			}, 0);
			expect(covered).toBeGreaterThanOrEqual(0.95);
		}
	});
});

describe('two rates', () => {
	it('rule 2: p sums the outcomes no likelier, by the plain way', () => {
		const pmf = binomialPmf(14, 100 / 220);
		const expected = upTo(pmf.filter((p) => p <= pmf[10]! * (1 + 1e-7)));
		const { p } = exactRateRatio({ events: 10, exposure: 100 }, { events: 4, exposure: 120 });
		expect(p).toBeCloseTo(expected, 12);
	});

	it('rule 2: turned round, the ratio and its interval are turned over', () => {
		const a = { events: 10, exposure: 100 };
		const b = { events: 4, exposure: 120 };
		const one = exactRateRatio(a, b);
		const other = exactRateRatio(b, a);
		expect(one.ratio! * other.ratio!).toBeCloseTo(1, 12);
		expect(one.low * other.high).toBeCloseTo(1, 10);
		expect(one.p).toBeCloseTo(other.p, 12);
	});

	it('say what nought events can say', () => {
		const none = { events: 0, exposure: 5 };
		const some = { events: 4, exposure: 5 };
		expect(exactRateRatio(none, none)).toEqual({ ratio: null, low: 0, high: Infinity, p: 1 });
		expect(exactRateRatio(some, none)).toMatchObject({ ratio: Infinity, high: Infinity });
		expect(exactRateRatio(none, some)).toMatchObject({ ratio: 0, low: 0 });
		// All four in the one: the chance of 0 or 4 of 4 at one half.
		expect(exactRateRatio(none, some).p).toBeCloseTo(0.125, 12);
	});

	it('keep their digits with many events', () => {
		const same = { events: 20_000, exposure: 1 };
		const { ratio, low, high, p } = exactRateRatio(same, same);
		expect(ratio).toBe(1);
		expect(p).toBe(1);
		// Large counts: log ratio has a standard error of sqrt(2 / 20,000) = .01.
		expect(Math.log(high)).toBeCloseTo(0.0196, 4);
		expect(Math.log(low)).toBeCloseTo(-0.0196, 4);
	});

	it('refuse what is no count', () => {
		expect(() => exactRateInterval({ events: 1.5, exposure: 1 })).toThrow('found 1.5');
		expect(() => exactRateInterval({ events: 1, exposure: 0 })).toThrow('above 0, found 0');
		expect(() => exactRateInterval({ events: 1, exposure: 1 }, 95)).toThrow('found 95');
	});
});

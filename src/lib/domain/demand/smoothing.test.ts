import { describe, expect, it } from 'vitest';
import { accuracyOf, backTest, rollingOrigins } from './backtest.ts';
import { croston, fitCroston, meanInterval } from './intermittent.ts';
import {
	decompose,
	fitTrend,
	leastIn,
	naiveAhead,
	seasonalNaiveAhead,
	seasonSmoothing,
	simpleSmoothing,
	trendSmoothing
} from './smoothing.ts';

describe('naive forecasts', () => {
	it('carry the last value, or the last season from its start', () => {
		expect(naiveAhead([3, 5], 2)).toEqual([5, 5]);
		expect(seasonalNaiveAhead([9, 1, 2, 3], 3, 5)).toEqual([1, 2, 3, 1, 2]);
		expect(() => naiveAhead([], 1)).toThrow('needs at least 1 values');
		expect(() => seasonalNaiveAhead([1, 2], 3, 1)).toThrow('needs at least 3 values');
	});
});

describe('smoothing', () => {
	it('repeats a straight line, a level and a pure season without error', () => {
		expect(trendSmoothing([2, 4, 6, 8], 0.4, 0.2).ahead(2)).toEqual([10, 12]);
		expect(simpleSmoothing([7, 7, 7], 0.3)).toMatchObject({ sumOfSquares: 0, level: 7 });
		const season = [10, 20, 30, 10, 20, 30, 10, 20];
		const weights = { level: 0.3, trend: 0.1, season: 0.2 };
		for (const kind of ['additive', 'multiplicative'] as const) {
			const found = seasonSmoothing(season, 3, kind, weights);
			expect(found.sumOfSquares).toBeCloseTo(0, 12);
			for (const [i, value] of [30, 10, 20, 30].entries())
				expect(found.ahead(4)[i]).toBeCloseTo(value, 9);
		}
	});
	it('refuses what is too short, and a multiplied season of nothing', () => {
		expect(() => simpleSmoothing([1], 0.5)).toThrow('at least 2 values');
		expect(() => trendSmoothing([1, 2], 0.5, 0.5)).toThrow('at least 3 values');
		expect(() => decompose([1, 2, 3], 2, 'additive')).toThrow('at least 4 values');
		expect(() => decompose([1, 0, 3, 1], 2, 'multiplicative')).toThrow('values above 0');
	});
});

describe('the search', () => {
	it('finds a least inside and at the edge, the same each time', () => {
		const bowl = ([a, b]: readonly number[]) => (a! - 0.37) ** 2 + (b! - 1.4) ** 2;
		const found = leastIn(2, bowl);
		expect(found[0]).toBeCloseTo(0.37, 3);
		expect(found[1]).toBe(1);
		expect(leastIn(2, bowl)).toEqual(found);
	});
	it('gives weights no worse than any of a fine grid', () => {
		const values = [12, 15, 11, 18, 17, 21, 19, 25, 22, 28, 24, 31];
		const best = fitTrend(values).sumOfSquares;
		for (let a = 0; a <= 1; a += 0.05)
			for (let b = 0; b <= 1; b += 0.05)
				expect(trendSmoothing(values, a, b).sumOfSquares).toBeGreaterThan(best - 1e-6);
	});
});

describe('intermittent demand', () => {
	it('is exact for the same demand at the same interval', () => {
		expect(croston([0, 0, 6, 0, 0, 6], 0.4, false)).toMatchObject({
			perPeriod: 2,
			sumOfSquares: 24
		});
		expect(croston([0, 0, 6, 0, 0, 6], 0.4, true).perPeriod).toBeCloseTo(1.6, 12);
	});
	it('counts the interval to the last demand', () => {
		expect(meanInterval([0, 0, 6, 0, 0, 6, 0])).toBe(3);
		expect(meanInterval([1, 1])).toBe(1);
		expect(meanInterval([0, 0])).toBeNull();
		expect(() => fitCroston([0, 0], false)).toThrow('found none');
	});
});

describe('back-test', () => {
	it('sets origins from which every step is known', () => {
		expect(rollingOrigins(20, 5, 10, 26)).toEqual([10, 11, 12, 13, 14, 15]);
		expect(rollingOrigins(20, 5, 10, 2)).toEqual([14, 15]);
		expect(rollingOrigins(14, 5, 10, 26)).toEqual([]);
	});
	it('shows a method only what its origin knows', () => {
		const seen: number[][] = [];
		const test = backTest([1, 2, 4, 8], 1, [2, 3], (values) => {
			seen.push([...values]);
			return [values.at(-1)!];
		});
		expect(seen).toEqual([
			[1, 2],
			[1, 2, 4]
		]);
		expect(test).toEqual({ origins: [2, 3], errors: [[2], [4]], scales: [1, 1.5] });
		expect(accuracyOf(test)).toEqual({ mae: 3, rmse: Math.sqrt(10), mase: (2 + 4 / 1.5) / 2 });
	});
});

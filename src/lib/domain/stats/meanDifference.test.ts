import { describe, expect, it } from 'vitest';
import { meanDifference } from './meanDifference.ts';

describe('difference of two means', () => {
	it('gives the interval of R for the sleep data (Student 1908; t.test(extra ~ group), from memory)', () => {
		const first = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0, 2];
		const second = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];
		const found = meanDifference(first, second)!;
		expect(found.difference).toBeCloseTo(0.75 - 2.33, 12);
		expect(found.df).toBeCloseTo(17.776, 3);
		expect(found.low).toBeCloseTo(-3.3654832, 6);
		expect(found.high).toBeCloseTo(0.2054832, 6);
	});

	it('turns round with its groups', () => {
		const there = meanDifference([1, 2, 4], [3, 5, 9, 9])!;
		const back = meanDifference([3, 5, 9, 9], [1, 2, 4])!;
		expect([back.difference, back.low, back.high]).toEqual([
			-there.difference,
			-there.high,
			-there.low
		]);
	});

	it('has no interval without spread or with a single value', () => {
		expect(meanDifference([1], [1, 2, 3])).toBeNull();
		expect(meanDifference([2, 2], [1, 1])).toBeNull();
		expect(meanDifference([2, 2], [1, 2])).not.toBeNull();
	});

	it('refuses a level that is none', () => {
		expect(() => meanDifference([1, 2], [1, 2], 1)).toThrow(RangeError);
	});
});

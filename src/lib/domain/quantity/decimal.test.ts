import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ratio, roundProduct, roundRatio, times } from './decimal.ts';

describe('a product over a whole number', () => {
	it('is rounded as the ratio of big integers is, within safe integers and beyond them', () => {
		const factor = fc.integer({ min: -90_000_000, max: 90_000_000 });
		const small = fc.integer({ min: 1, max: 1_000 });
		const den = fc.integer({ min: 1_000, max: 20_000_000 });
		fc.assert(
			fc.property(factor, factor, small, den, (a, b, c, over) => {
				const slow = roundRatio(times(ratio(a), ratio(b), ratio(c), ratio(1, over)));
				expect(roundProduct([a, b, c], over)).toBe(slow);
			}),
			{ numRuns: 500 }
		);
	});

	it('goes away from zero at a tie', () => {
		expect([roundProduct([5], 2), roundProduct([-5], 2), roundProduct([-1], 3)]).toEqual([
			3, -3, 0
		]);
		expect(() => roundProduct([0.5], 1)).toThrow('safe integer');
	});
});

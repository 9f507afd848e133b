import { describe, expect, it } from 'vitest';
import { ratio } from './decimal.ts';
import {
	add,
	allocate,
	compare,
	convert,
	formatMoney,
	formatPriceE4,
	fromMajor,
	money,
	negate,
	parseCurrency,
	parseMoney,
	scale,
	subtract,
	sum,
	zero
} from './money.ts';

const gbp = (minor: number) => money(minor, 'GBP');

describe('money arithmetic', () => {
	it('adds, subtracts, negates, sums and compares in one currency', () => {
		expect(add(gbp(1999), gbp(1))).toEqual(gbp(2000));
		expect(subtract(gbp(100), gbp(250))).toEqual(gbp(-150));
		expect(Object.is(negate(zero('GBP')).minor, 0)).toBe(true);
		expect(sum([gbp(1), gbp(2), gbp(3)], 'GBP')).toEqual(gbp(6));
		expect(sum([], 'GBP')).toEqual(zero('GBP'));
		expect(compare(gbp(2), gbp(3))).toBeLessThan(0);
	});

	it('throws rather than mix currencies, lose digits or take a broken amount', () => {
		expect(() => add(gbp(1), money(1, 'USD'))).toThrow('GBP and USD');
		expect(() => add(gbp(Number.MAX_SAFE_INTEGER), gbp(1))).toThrow(RangeError);
		expect(() => scale(gbp(Number.MAX_SAFE_INTEGER), ratio(3, 2))).toThrow(RangeError);
		expect(() => money(0.5, 'GBP')).toThrow('safe integer');
		expect(() => money(1, 'ZZZ')).toThrow('ISO 4217');
		expect(() => convert(gbp(1), 0, 'USD')).toThrow('above zero');
	});

	it('scales exactly where a float product would not', () => {
		// 1.15 * 100 is 114.99999999999999 in floating point.
		expect(scale(gbp(100), ratio(115, 100))).toEqual(gbp(115));
		expect(scale(gbp(9_007_199_254_740_991), ratio(1, 9_007_199_254_740_991))).toEqual(gbp(1));
	});

	it('rounds ties away from zero or to even, on both sides of zero', () => {
		const half = ratio(1, 2);
		const up = [5, 7, -5, -7].map((minor) => scale(gbp(minor), half).minor);
		const even = [5, 7, -5, -7].map((minor) => scale(gbp(minor), half, 'half even').minor);
		expect(up).toEqual([3, 4, -3, -4]);
		expect(even).toEqual([2, 4, -2, -4]);
	});

	it('converts between currencies with different minor units, rounding once', () => {
		// 100.00 USD at 3,712.345678 UGX is 371,234.5678 UGX, which has no minor unit.
		expect(convert(money(10000, 'USD'), 3_712_345_678, 'UGX')).toEqual(money(371235, 'UGX'));
		expect(convert(money(100, 'JPY'), 5_250, 'GBP')).toEqual(gbp(53));
		expect(fromMajor(ratio(1, 3), 'KWD')).toEqual(money(333, 'KWD'));
	});
});

describe('splitting money', () => {
	it('gives parts that sum to the amount for any weights and sign', () => {
		for (let minor = -200; minor <= 200; minor += 7) {
			const parts = allocate(gbp(minor), [1, 0, 5, 3, 3, 11]);
			expect(sum(parts, 'GBP')).toEqual(gbp(minor));
			expect(parts[1]).toEqual(zero('GBP'));
		}
	});

	it('refuses weights that say nothing', () => {
		expect(() => allocate(gbp(10), [0, 0])).toThrow('sum above zero');
		expect(() => allocate(gbp(10), [])).toThrow('sum above zero');
		expect(() => allocate(gbp(10), [2, -1])).toThrow('negative');
	});
});

describe('money as text', () => {
	it('reads decimal text of the currency', () => {
		expect(parseMoney('1234.56', 'GBP')).toEqual({ ok: true, value: gbp(123456) });
		expect(parseMoney(' -0.5 ', 'GBP')).toEqual({ ok: true, value: gbp(-50) });
		expect(parseMoney('1200', 'UGX')).toEqual({ ok: true, value: money(1200, 'UGX') });
	});

	it.each([
		['1.234', 'GBP', 'at most 2 decimals'],
		['12.5', 'JPY', 'no decimals'],
		['1,234.56', 'GBP', 'no grouping'],
		['12,5', 'GBP', 'no grouping'],
		['1e3', 'GBP', 'expected a number'],
		['', 'GBP', 'expected a number'],
		['£5', 'GBP', 'expected a number'],
		['90071992547409.92', 'GBP', 'too large']
	])('refuses %s of %s and says why', (text, currency, why) => {
		const outcome = parseMoney(text, currency, 'freight');
		expect(outcome.ok).toBe(false);
		if (outcome.ok) return;
		expect(outcome.problems[0]?.path).toBe('freight');
		expect(outcome.problems[0]?.message).toContain(why);
	});

	it('reads a currency code and refuses what is not one', () => {
		expect(parseCurrency(' gbp ')).toEqual({ ok: true, value: 'GBP' });
		expect(parseCurrency('POUNDS').ok).toBe(false);
	});

	it('writes the same text everywhere', () => {
		expect(formatMoney(gbp(123456))).toBe('GBP 1,234.56');
		expect(formatMoney(gbp(-123456789), { symbol: true })).toBe('-£1,234,567.89');
		expect(formatMoney(gbp(5), { symbol: true })).toBe('£0.05');
		expect(formatMoney(money(1234, 'UGX'), { symbol: true })).toBe('UGX 1,234');
		expect(formatMoney(money(-1, 'KWD'))).toBe('-KWD 0.001');
		expect(formatPriceE4(64097, 'GBP', { symbol: true })).toBe('£6.4097');
		expect(formatPriceE4(64097, 'USD', { decimals: 2 })).toBe('USD 6.41');
	});
});

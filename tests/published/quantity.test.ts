import { describe, expect, it } from 'vitest';
import { parseScaled, ratio, roundRatio, type Rounding } from '#lib/domain/quantity/decimal.ts';
import { gFromLbE3, greenEquivalentG, lbFromG } from '#lib/domain/quantity/mass.ts';
import { allocate, isCurrency, minorDecimals, money } from '#lib/domain/quantity/money.ts';

/** ISO 4217 list one, published 2024-06-25, as read from npm currency-codes 2.2.0 (ran). */
describe('minor units of ISO 4217', () => {
	it.each([
		[0, 'BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF'],
		[3, 'BHD IQD JOD KWD LYD OMR TND'],
		[4, 'CLF UYW'],
		// Two decimals where number formatters of Node 20 show none.
		[2, 'AFN ALL COP HUF IDR IRR KPW LAK LBP MGA MMK PKR SOS SYP YER'],
		[2, 'GBP EUR USD BRL ETB KES GTQ HNL CRC PEN TZS INR PGK NIO MXN CHF']
	])('are %i for %s', (decimals, codes) => {
		for (const code of codes.split(' ')) expect(minorDecimals(code), code).toBe(decimals);
	});

	it('has none for codes that are no currency of the list', () => {
		expect(['GBX', 'UKP', 'XXX', 'XAU', 'gbp', ''].filter(isCurrency)).toEqual([]);
	});
});

/** Ties and near-ties as Python's decimal module rounds them (ran); the last two trip binary floats. */
describe('rounding', () => {
	it.each<[string, Rounding, number]>([
		['2.675', 'half up', 268],
		['2.675', 'half even', 268],
		['1.005', 'half up', 101],
		['1.005', 'half even', 100],
		['0.125', 'half up', 13],
		['0.125', 'half even', 12],
		['-2.675', 'half up', -268]
	])('takes %s %s to %i hundredths', (text, rounding, expected) => {
		const thousandths = parseScaled(text, 3, 'value');
		expect(thousandths.ok && roundRatio(ratio(thousandths.value, 10), rounding)).toBe(expected);
	});
});

/** Largest remainder, ties to the earlier line; the seats are the usual textbook case (ran). */
describe('largest remainder', () => {
	it.each([
		[10000, [1, 1, 1], [3334, 3333, 3333]],
		[10000, [3, 3, 1], [4286, 4286, 1428]],
		[10, [47000, 16000, 15900, 12000, 6000, 3100], [5, 2, 1, 1, 1, 0]]
	])('splits %i over %j', (minor, weights, expected) => {
		expect(allocate(money(minor, 'GBP'), weights).map((part) => part.minor)).toEqual(expected);
	});
});

/** 1 lb = 0.45359237 kg exactly; values as Python divides them (ran). */
describe('pounds and kilograms', () => {
	it('gives the pounds of the usual bags', () => {
		expect(lbFromG(60_000)).toBeCloseTo(132.277357, 6);
		expect(lbFromG(69_000)).toBeCloseTo(152.118961, 6);
		expect(lbFromG(70_000)).toBeCloseTo(154.323584, 6);
	});

	it('gives the grams of a 37,500 lb exchange lot, 17,009.713875 kg', () => {
		expect(gFromLbE3(37_500_000)).toBe(17_009_714);
	});
});

/** ICO conversion factor for roasted coffee, 1.19 (seen: thecoffeeguide.org, conversions and statistics). */
describe('green bean equivalent', () => {
	it('of 100 kg roasted is 119 kg exactly', () => {
		expect(greenEquivalentG(100_000)).toBe(119_000);
	});

	it('is no inverse of the 0.84 printed beside it: 60 kg green is 50.4 kg roasted (seen)', () => {
		expect(greenEquivalentG(50_400)).toBe(59_976);
	});
});

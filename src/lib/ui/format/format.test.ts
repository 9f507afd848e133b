import { describe, expect, test } from 'vitest';
import { pageOf, sortHref, sortOf, withQuery } from './address.ts';
import { daysSince, dayShort, dayText, dueWords, timeOfDay, weekText } from './day.ts';
import { amount, money } from './money.ts';
import { clock, count, fixed, kg, kgWithUnit, percent, signed, withUnit } from './number.ts';

/** Readable in a test: thin space as _, minus as ~. */
const plain = (text: string) => text.replaceAll('\u202f', '_').replaceAll('\u2212', '~');

describe('numbers', () => {
	test.each([
		[0, 0, '0'],
		[999, 0, '999'],
		[1000, 0, '1,000'],
		[1234567.891, 2, '1,234,567.89'],
		[-1234.5, 1, '~1,234.5'],
		[12.34, 4, '12.3400'],
		[-0.04, 1, '0.0'],
		[-0, 0, '0']
	])('%s with %s decimals', (value, decimals, text) => {
		expect(plain(fixed(value, decimals))).toBe(text);
	});

	test.each([null, undefined, Number.NaN, Number.POSITIVE_INFINITY])('%s is missing', (value) => {
		expect(fixed(value, 1)).toBe('–');
		expect(withUnit(fixed(value, 1), 'kg')).toBe('–');
	});

	test('differences carry their sign, zero carries none', () => {
		expect(plain(signed(1.26, 1))).toBe('+1.3');
		expect(plain(signed(-1.26, 1))).toBe('~1.3');
		expect(signed(0.01, 1)).toBe('0.0');
	});

	test('grams as kilograms, shares as percentages', () => {
		expect(plain(kg(1_234_500))).toBe('1,234.5');
		expect(plain(kgWithUnit(60_000, 0))).toBe('60_kg');
		expect(plain(percent(0.1344))).toBe('13.4_%');
		expect(percent(null)).toBe('–');
	});

	test.each([
		[0, '0:00'],
		[220, '3:40'],
		[59.6, '1:00'],
		[3599.7, '1:00:00'],
		[3723, '1:02:03'],
		[-5, '~0:05']
	])('%s s as a clock', (timeS, text) => {
		expect(plain(clock(timeS))).toBe(text);
	});

	test('counts agree with their noun', () => {
		expect(count(1, 'lot')).toBe('1 lot');
		expect(count(0, 'batch', 'batches')).toBe('0 batches');
	});
});

describe('money', () => {
	test.each([
		[123450, 'GBP', '£1,234.50', '1,234.50'],
		[5, 'GBP', '£0.05', '0.05'],
		[-5, 'GBP', '~£0.05', '~0.05'],
		[1234, 'UGX', 'UGX 1,234', '1,234'],
		[1234, 'KWD', 'KWD 1.234', '1.234']
	])('%s minor units of %s', (minor, currency, whole, bare) => {
		expect(plain(money({ minor, currency }))).toBe(whole);
		expect(plain(amount({ minor, currency }))).toBe(bare);
	});

	test('no amount is a dash', () => {
		expect(money(null)).toBe('–');
		expect(amount(undefined)).toBe('–');
	});
});

describe('days', () => {
	test('days and weeks in words', () => {
		expect(dayText('2026-11-05')).toBe('5 Nov 2026');
		expect(dayShort('2026-01-31')).toBe('31 Jan');
		expect(dayText('soon')).toBe('soon');
		expect(dayText(null)).toBe('–');
		expect(weekText('2026-W08')).toBe('Week 8, 2026');
	});

	test.each([
		[-3, '3 days late'],
		[-1, '1 day late'],
		[0, 'due today'],
		[1, 'due tomorrow'],
		[5, 'in 5 days']
	])('%s days left', (left, text) => {
		expect(dueWords(left)).toBe(text);
	});

	test('minutes after midnight as a time of day', () => {
		expect(timeOfDay(390)).toBe('06:30');
		expect(timeOfDay(0)).toBe('00:00');
	});

	test('how long something lasted', () => {
		expect(daysSince(0)).toBe('today');
		expect(daysSince(12)).toBe('12 days');
	});
});

describe('addresses', () => {
	const at = (text: string) => new URL(text, 'http://site.test');

	test('a change keeps the other parameters; null and empty take one out', () => {
		expect(withQuery(at('/lots?stage=in+test&q=x'), { q: null, page: '2' })).toBe(
			'/lots?stage=in+test&page=2'
		);
		expect(withQuery(at('/lots?q=x'), { q: '' })).toBe('/lots');
	});

	test('a heading sorts rising, then falling, and starts at the first page', () => {
		expect(sortHref(at('/lots?page=3'), 'kg')).toBe('/lots?sort=kg');
		expect(sortHref(at('/lots?sort=kg'), 'kg')).toBe('/lots?sort=-kg');
		expect(sortHref(at('/lots?sort=-kg'), 'kg')).toBe('/lots?sort=kg');
		expect(sortHref(at('/lots?sort=-kg'), 'name')).toBe('/lots?sort=name');
	});

	test('only known columns sort', () => {
		expect(sortOf(at('/lots?sort=-kg'), ['kg'])).toEqual({ key: 'kg', descending: true });
		expect(sortOf(at('/lots?sort=password'), ['kg'])).toBeNull();
		expect(sortOf(at('/lots'), ['kg'])).toBeNull();
	});

	test.each([
		['/lots', 1],
		['/lots?page=2', 2],
		['/lots?page=99', 4],
		['/lots?page=-1', 1],
		['/lots?page=x', 1]
	])('page of %s', (text, page) => {
		expect(pageOf(at(text), 4)).toBe(page);
	});
});

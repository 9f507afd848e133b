import { expect, test } from 'vitest';
import {
	isStamp,
	parseClock,
	parseNumber,
	parseStamp,
	styleEvidence,
	type NumberStyle
} from './number.ts';

const point: NumberStyle = { decimal: '.', thousands: '' };
const comma: NumberStyle = { decimal: ',', thousands: '' };
const english: NumberStyle = { decimal: '.', thousands: ',' };
const german: NumberStyle = { decimal: ',', thousands: '.' };
const french: NumberStyle = { decimal: ',', thousands: ' ' };
const swiss: NumberStyle = { decimal: '.', thousands: "'" };

test.each<[string, NumberStyle, number | null]>([
	['12.5', point, 12.5],
	['-.5', point, -0.5],
	['+3', point, 3],
	['1.5e-3', point, 0.0015],
	['12,5', comma, 12.5],
	['12,5', point, null],
	['12.5', comma, null],
	['1,234.5', english, 1234.5],
	['1,234', point, null],
	['1,234', english, 1234],
	['1,23', english, null],
	['12,34.5', english, null],
	['1.234,5', german, 1234.5],
	['1 234,5', french, 1234.5],
	['1\u202f234,5', french, 1234.5],
	["1'234.5", swiss, 1234.5],
	['1\u2019234.5', swiss, 1234.5],
	['\u22121', point, -1],
	['0x10', point, null],
	['1e999', point, null],
	['Infinity', point, null],
	['', point, null],
	['.', point, null],
	['5 5', point, null],
	['9'.repeat(50), point, null]
])('%s in style %o is %s', (text, style, value) => {
	expect(parseNumber(text, style)).toBe(value);
});

test.each([
	['12,5', 'comma'],
	['0,125', 'comma'],
	['12.5', 'point'],
	['1.234,5', 'comma'],
	['1,234.5', 'point'],
	['1,234,567', 'point'],
	['1.234.567', 'comma'],
	['1,234', 'either'],
	['1.234', 'either'],
	['1234,567', 'comma'],
	['12', 'none'],
	['1,2,3', 'none'],
	['a.b', 'none']
])('%s speaks for %s', (text, evidence) => {
	expect(styleEvidence(text)).toBe(evidence);
});

test.each([
	['1:30', 90],
	['01:30.5', 90.5],
	['01:30,5', 90.5],
	['0:01:30', 90],
	['12:00:00', 43200],
	['-0:05', -5],
	['1:60', null],
	['1:75:00', null],
	['90', null],
	['1:3', null]
])('clock %s is %s s', (text, seconds) => {
	expect(parseClock(text)).toBe(seconds);
});

test('date-times in every order, with zone and halves of the day', () => {
	const base = Date.UTC(2026, 10, 25, 8, 30, 1) / 1000;
	expect(parseStamp('2026-11-25 08:30:01', 'ymd')).toBe(base);
	expect(parseStamp('2026-11-25T08:30:01.500Z', 'ymd')).toBe(base + 0.5);
	expect(parseStamp('2026-11-25T09:30:01+01:00', 'ymd')).toBe(base);
	expect(parseStamp('25.11.2026 08:30:01', 'dmy')).toBe(base);
	expect(parseStamp('11/25/2026 8:30:01 AM', 'mdy')).toBe(base);
	expect(parseStamp('11/25/2026 12:30:01 am', 'mdy')).toBe(base - 8 * 3600);
	expect(parseStamp('31.02.2026 08:30:01', 'dmy')).toBe(null);
	expect(parseStamp('2026-11-25 24:30:01', 'ymd')).toBe(null);
	expect(isStamp('2026-11-25')).toBe(false);
});

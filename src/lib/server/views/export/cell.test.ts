import { expect, test } from 'vitest';
import { hours, kg, minor, roastClock, scaled, steps, timeOfDay } from './cell.ts';

test.each([
	[13_800, '13.8'],
	[-50, '-0.05'],
	[5, '0.005'],
	[0, '0'],
	[60_000, '60'],
	[1_234_567, '1234.567']
])('%s g in kilograms', (massG, digits) => {
	expect(kg(massG)).toEqual({ digits });
});

test('amounts have the decimals of their currency', () => {
	expect(minor(123_45, 'GBP')).toEqual({ digits: '123.45' });
	expect(minor(1234, 'UGX')).toEqual({ digits: '1234' });
	expect(minor(1234, 'KWD')).toEqual({ digits: '1.234' });
	expect(scaled(749_500, 6)).toEqual({ digits: '0.7495' });
});

test('times from charge, of the day, and hours of a machine', () => {
	expect(roastClock(354)).toBe('5:54');
	expect(roastClock(59.5)).toBe('0:59.5');
	expect(roastClock(5)).toBe('0:05');
	expect(timeOfDay(390)).toBe('06:30');
	expect(timeOfDay(1440)).toBe('24:00');
	expect(hours(1080)).toEqual({ digits: '0.3' });
	expect(
		steps([
			{ atS: 0, pct: 60 },
			{ atS: 270, pct: 75.5 }
		])
	).toBe('0:00 60; 4:30 75.5');
});

import { expect, it } from 'vitest';
import { formatTrimmed, parseScaled } from './decimal.ts';
import { formatKg, gFromLbE3, kgFromG, lbFromG, parseKg, parseLb } from './mass.ts';

it('reads kilograms to the gram and refuses finer', () => {
	expect(parseKg('12.345')).toEqual({ ok: true, value: 12345 });
	expect(parseKg('60')).toEqual({ ok: true, value: 60000 });
	const finer = parseKg('1.2345', 'row 3, mass_kg');
	expect(finer).toEqual({
		ok: false,
		problems: [{ path: 'row 3, mass_kg', message: 'found "1.2345", expected at most 3 decimals' }]
	});
});

it('goes between pounds and grams', () => {
	expect(gFromLbE3(1000)).toBe(454);
	expect(parseLb('152')).toEqual({ ok: true, value: 68946 });
	expect(lbFromG(453.59237)).toBeCloseTo(1, 15);
	expect(kgFromG(1500)).toBe(1.5);
});

it('writes kilograms with their unit', () => {
	expect(formatKg(1234500)).toBe('1,234.5 kg');
	expect(formatKg(60000)).toBe('60 kg');
	expect(formatKg(-50)).toBe('-0.05 kg');
	expect(formatKg(0)).toBe('0 kg');
	expect(formatKg(12345, 1)).toBe('12.3 kg');
	expect(formatKg(12350, 1)).toBe('12.4 kg');
	expect(formatKg(60000, 3)).toBe('60.000 kg');
});

it('keeps decimals exactly', () => {
	expect(parseScaled('2.35', 4, 'price')).toEqual({ ok: true, value: 23500 });
	expect(parseScaled('+0.0001', 4, 'price')).toEqual({ ok: true, value: 1 });
	expect(parseScaled('.5', 4, 'price').ok).toBe(false);
	expect(formatTrimmed(23500, 4, 2)).toBe('2.35');
	expect(formatTrimmed(20000, 4, 2)).toBe('2.00');
	expect(formatTrimmed(20001, 4, 2)).toBe('2.0001');
});

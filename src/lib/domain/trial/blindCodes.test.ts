import { describe, expect, it } from 'vitest';
import { blindCodes, MOST_CUPS } from './blindCodes.ts';

describe('blind codes', () => {
	it('are the same again from the same seed, and others from another (rule 1)', () => {
		expect(blindCodes(7, 8, [])).toEqual(blindCodes(7, 8, []));
		expect(blindCodes(7, 8, [])).not.toEqual(blindCodes(8, 8, []));
		// What was drawn once stays: a stored seed must give the codes that stood on the cups.
		expect(blindCodes(20261125, 6, [])).toEqual(['662', '215', '570', '991', '322', '988']);
	});

	it('are three digits, all different, none of them in a name on the table (rule 2)', () => {
		for (let seed = 0; seed < 100; seed++) {
			const names = ['HR-151', 'House 305'];
			const codes = blindCodes(seed, MOST_CUPS, names);
			expect(new Set(codes).size).toBe(MOST_CUPS);
			for (const code of codes) {
				expect(code).toMatch(/^[1-9]\d\d$/);
				expect(names.some((name) => name.includes(code))).toBe(false);
			}
		}
	});

	it('sort the first cup to every place about equally often (rule 3)', () => {
		const places = [0, 0, 0, 0, 0];
		for (let seed = 0; seed < 2000; seed++) {
			const codes = blindCodes(seed, 5, []);
			places[codes.filter((code) => code < codes[0]!).length]! += 1;
		}
		// 400 expected at each place, standard deviation 18.
		for (const times of places) expect(Math.abs(times - 400)).toBeLessThan(80);
	});

	it('refuse a table that nobody can cup, and a seed that is no whole number', () => {
		expect(() => blindCodes(1, MOST_CUPS + 1, [])).toThrow(RangeError);
		expect(() => blindCodes(1.5, 3, [])).toThrow(/whole number/);
	});
});

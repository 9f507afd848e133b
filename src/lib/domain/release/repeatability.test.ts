import { describe, expect, it } from 'vitest';
import { Z_95 } from '../stats/discrete.ts';
import { FEATURES, FINGERPRINT_METHOD, type Features, type Fingerprint } from './fingerprint.ts';
import {
	bandOf,
	differenceIsReal,
	differentSpans,
	repeatabilityOf,
	repeatsOn,
	studentT
} from './repeatability.ts';

const LEVEL = Array.from({ length: 128 }, () => 7);

function fingerprint(features: Partial<Features>, curve?: (i: number) => number): Fingerprint {
	return {
		method: FINGERPRINT_METHOD,
		readingMethod: 'release-1',
		axis: 'bean',
		curve: curve ? LEVEL.map((_, i) => curve(i)) : LEVEL,
		knownFromC: 80,
		knownToC: 208,
		features: {
			earlyShare: 0.12,
			middleSlope: 0.3,
			evenness: 0.6,
			crackProminence: 0.4,
			crackWidthC: 10,
			crackTemperatureC: 196,
			totalGPerKg: 130,
			...features
		}
	};
}

/** So many lots, each twice, `apart` from each other in total and in the whole curve. */
function pairs(lots: number, apart: number): Fingerprint[][] {
	return Array.from({ length: lots }, (_, lot) => [
		fingerprint({ totalGPerKg: 100 + lot }, () => 7 + lot),
		fingerprint({ totalGPerKg: 100 + lot + apart }, () => 7 + lot + apart)
	]);
}

describe('the spread within lots', () => {
	it('is pooled over the lots, however far these are apart (rule 1)', () => {
		// By hand: 2, 4, 6 has squares 8 on 2 degrees of freedom; 10, 13 has 4.5 on 1. 21 lots of one
		// pair 2 apart add 2 on 1 each: (8 + 4.5 + 42) / 24.
		const totals = (...values: number[]) =>
			values.map((totalGPerKg) => fingerprint({ totalGPerKg }));
		const groups = [totals(2, 4, 6), totals(10, 13), ...pairs(21, 2)];
		const { features, lots, roasts } = repeatabilityOf(groups, 'bean');
		expect(features.totalGPerKg.sd).toBeCloseTo(Math.sqrt(54.5 / 24), 12);
		expect(features.totalGPerKg).toMatchObject({ freedom: 24, repeatFreedom: 24, from: 'repeats' });
		expect([lots, roasts]).toEqual([23, 47]);
	});

	it('leaves out what can’t be compared: lots roasted once, another axis or method, no value', () => {
		const exhaust = { ...fingerprint({}), axis: 'exhaust' } as const;
		const older = { ...fingerprint({}), method: 'fingerprint-0' };
		expect(repeatsOn([[fingerprint({})], [fingerprint({}), exhaust, older]], 'bean')).toEqual([]);
		const noCrack = [fingerprint({ crackWidthC: null }), fingerprint({})];
		const { features } = repeatabilityOf([noCrack], 'bean');
		expect(features.crackWidthC.repeatFreedom).toBe(0);
		expect(features.totalGPerKg.repeatFreedom).toBe(1);
	});

	it('rests on a prior until there are enough repeats, and says so (rule 2)', () => {
		const none = repeatabilityOf([], 'bean');
		expect(none.features.totalGPerKg).toMatchObject({ sd: 10.4, freedom: 6, from: 'prior' });
		expect(none.because).toContain('No lot has been roasted twice');
		const few = repeatabilityOf(pairs(4, 2), 'bean');
		const { sd, from, freedom } = few.features.totalGPerKg;
		// Four pairs 2 apart: 8 on 4 degrees of freedom, beside 6 of the prior.
		expect(sd).toBeCloseTo(Math.sqrt((8 + 6 * 10.4 ** 2) / 10), 12);
		expect([from, freedom]).toEqual(['repeats and prior', 10]);
		expect(few.because).toContain('8 sample roasts of 4 lots and an assumed spread');
		expect(few.because).toContain('16 more repeats');
		expect(repeatabilityOf(pairs(20, 2), 'bean').because).toBe('From 40 sample roasts of 20 lots.');
	});
});

describe('the repeatability limit (rule 3)', () => {
	it('has Student’s t of the printed tables (from memory)', () => {
		const printed = [
			[Z_95, { 6: 2.447, 10: 2.228, 20: 2.086, 30: 2.042, 120: 1.98 }],
			// 99.9 % one-sided.
			[3.0902323062, { 6: 5.208, 10: 4.144, 20: 3.552, 30: 3.385, 120: 3.16 }]
		] as const;
		for (const [z, table] of printed) {
			for (const [freedom, value] of Object.entries(table)) {
				expect(Math.abs(studentT(Number(freedom), z) / value - 1)).toBeLessThan(0.01);
			}
		}
	});

	it('is wider for the curve, all of which is judged at once (rule 4)', () => {
		const { curve, features } = repeatabilityOf(pairs(400, 2), 'bean');
		expect(curve[7]!.sd).toBeCloseTo(features.totalGPerKg.sd, 9);
		// 1 - .05 / 20 / 2 of the normal distribution is at 3.023.
		expect(Math.abs(curve[7]!.limit / (3.023 * Math.SQRT2 * curve[7]!.sd) - 1)).toBeLessThan(0.01);
	});

	it('is 2.77 s with many repeats, as in ISO 5725-6 (1.96 x the root of 2; from memory)', () => {
		const { features } = repeatabilityOf(pairs(400, 2), 'bean');
		const factor = features.totalGPerKg.limit / features.totalGPerKg.sd;
		expect(Math.abs(factor / 2.77 - 1)).toBeLessThan(0.005);
	});

	it('calls a difference real beyond it, feature by feature', () => {
		const repeatability = repeatabilityOf(pairs(30, 2), 'bean');
		const { limit } = repeatability.features.totalGPerKg;
		const real = (totalGPerKg: number | null) =>
			differenceIsReal(fingerprint({}), fingerprint({ totalGPerKg }), repeatability).find(
				({ feature }) => feature === 'totalGPerKg'
			);
		expect(real(130 + 0.99 * limit)).toMatchObject({ real: false, limit });
		expect(real(130 - 1.01 * limit)).toMatchObject({ real: true });
		expect(real(130 - 1.01 * limit)?.difference).toBeCloseTo(-1.01 * limit, 9);
		expect(real(null)).toMatchObject({ difference: null, real: false });
		const all = differenceIsReal(fingerprint({}), fingerprint({}), repeatability);
		expect(all.map(({ feature }) => feature)).toEqual([...FEATURES]);
	});

	it('is crossed by about one pair of repeats in twenty', () => {
		// Even quantiles of the normal distribution stand in for repeats: sums of twelve fractions of
		// square roots, whose spread is 1.
		const roots = [2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37].map(Math.sqrt);
		const drawn = (n: number) => roots.reduce((sum, root) => sum + ((n * root) % 1), -6);
		const one = (n: number) => fingerprint({ totalGPerKg: 130 + 3 * drawn(n) });
		const groups = Array.from({ length: 400 }, (_, i) => [one(2 * i + 1), one(2 * i + 2)]);
		const repeatability = repeatabilityOf(groups, 'bean');
		expect(Math.abs(repeatability.features.totalGPerKg.sd / 3 - 1)).toBeLessThan(0.1);
		const crossed = Array.from({ length: 2000 }, (_, i) =>
			differenceIsReal(one(1000 + i), one(5000 + 3 * i), repeatability)
		).filter((found) => found.some(({ feature, real }) => feature === 'totalGPerKg' && real));
		expect(crossed.length / 2000).toBeGreaterThan(0.03);
		expect(crossed.length / 2000).toBeLessThan(0.07);
	});
});

describe('differences of the curve', () => {
	const repeatability = repeatabilityOf(pairs(30, 0.2), 'bean');
	const flat = fingerprint({});

	it('are stretches outside the band, of 5 degrees or more', () => {
		const raised = (from: number, to: number, by: number) =>
			fingerprint({}, (i) => (i >= from && i < to ? 7 + by : 7));
		expect(differentSpans(flat, raised(20, 30, 2), repeatability)).toEqual([
			{ fromC: 100, toC: 110, second: 'more' }
		]);
		expect(differentSpans(flat, raised(118, 128, -2), repeatability)).toEqual([
			{ fromC: 198, toC: 208, second: 'less' }
		]);
		expect(differentSpans(flat, raised(20, 24, 2), repeatability)).toEqual([]);
		expect(differentSpans(flat, raised(20, 30, 0.1), repeatability)).toEqual([]);
		const known = { ...raised(120, 128, 2), knownToC: 200 };
		expect(differentSpans(flat, known, repeatability)).toEqual([]);
	});

	it('lie outside the band that is drawn, which never goes below nought', () => {
		const band = bandOf(flat, repeatability);
		const { limit } = repeatability.curve[0]!;
		expect(band.low[5]).toBeCloseTo(7 - limit, 12);
		expect(band.high[5]).toBeCloseTo(7 + limit, 12);
		expect(
			bandOf(
				fingerprint({}, () => 0.01),
				repeatability
			).low[0]
		).toBe(0);
	});

	it('are not judged by a repeatability of another axis', () => {
		const exhaust = { ...flat, axis: 'exhaust' } as const;
		expect(() => bandOf(exhaust, repeatability)).toThrow('by exhaust temperature');
		expect(() => differenceIsReal(flat, exhaust, repeatability)).toThrow('by bean temperature');
	});
});

import { describe, expect, it } from 'vitest';
import {
	affectiveScoreUnrounded,
	cuppingScore,
	type AffectiveForm,
	type SumForm
} from '#lib/domain/trial/cupping.ts';

/**
 * The affective form of SCA-104 (2024), S = 0.65625 sum(h) + 52.75 - 2u - 4d. The formula is from memory; the
 * standard itself could not be read, and rounding to .25 is unverified. Sanity that needs no memory: all
 * ones give exactly 58 and all nines exactly 100. Values computed by hand from the formula (ran).
 */
describe('affective form', () => {
	const of = (h: readonly number[], u = 0, d = 0): AffectiveForm => ({
		form: 'affective',
		fragrance: h[0] ?? 0,
		aroma: h[1] ?? 0,
		flavour: h[2] ?? 0,
		aftertaste: h[3] ?? 0,
		acidity: h[4] ?? 0,
		sweetness: h[5] ?? 0,
		mouthfeel: h[6] ?? 0,
		overall: h[7] ?? 0,
		nonUniformCups: u,
		defectiveCups: d
	});
	const all = (h: number) => Array.from({ length: 8 }, () => h);
	const mixed = [7, 7, 8, 7, 6, 7, 7, 8];

	it.each([
		[all(1), 0, 0, 58, 58],
		[all(5), 0, 0, 79, 79],
		[all(6), 0, 0, 84.25, 84.25],
		[all(7), 0, 0, 89.5, 89.5],
		[all(9), 0, 0, 100, 100],
		[mixed, 0, 0, 90.15625, 90.25],
		[mixed, 1, 0, 88.15625, 88.25],
		[mixed, 1, 1, 84.15625, 84.25],
		[all(1), 5, 5, 28, 28]
	])('of %j with %i cups that differ and %i defective', (h, u, d, unrounded, rounded) => {
		expect(affectiveScoreUnrounded(of(h, u, d))).toBe(unrounded);
		expect(cuppingScore(of(h, u, d))).toBe(rounded);
	});
});

/**
 * The sum form of 2004: text of the official SCAA cupping form (seen: ten attributes; defects are taint 2
 * or fault 4 times the cups; qualities from 6.00 to 10 by 0.25); two points a cup for uniformity, clean cup
 * and sweetness (seen in third-party notes). Sums by hand (ran).
 */
describe('sum form', () => {
	const at75 = (taintCups: number, faultCups: number): SumForm => ({
		form: 'sum',
		fragranceAroma: 7.5,
		flavour: 7.5,
		aftertaste: 7.5,
		acidity: 7.5,
		body: 7.5,
		balance: 7.5,
		overall: 7.5,
		uniformCups: 5,
		cleanCups: 5,
		sweetCups: 5,
		taintCups,
		faultCups
	});

	it.each([
		[0, 0, 82.5],
		[2, 0, 78.5],
		[0, 1, 78.5],
		[2, 1, 74.5]
	])('of seven at 7.50 with a taint in %i cups and a fault in %i', (taint, fault, score) => {
		expect(cuppingScore(at75(taint, fault))).toBe(score);
	});

	it('runs to exactly 100', () => {
		const best = { ...at75(0, 0) };
		for (const field of Object.keys(best) as (keyof SumForm)[]) {
			if (best[field] === 7.5) Object.assign(best, { [field]: 10 });
		}
		expect(cuppingScore(best)).toBe(100);
	});
});

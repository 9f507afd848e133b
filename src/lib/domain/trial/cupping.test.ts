import { describe, expect, it } from 'vitest';
import { checkCupping, cuppingScore, type AffectiveForm, type SumForm } from './cupping.ts';

const SUM: SumForm = {
	form: 'sum',
	fragranceAroma: 7.5,
	flavour: 7.75,
	aftertaste: 7.25,
	acidity: 8,
	body: 7.5,
	balance: 7.5,
	overall: 7.75,
	uniformCups: 5,
	cleanCups: 5,
	sweetCups: 4,
	taintCups: 1,
	faultCups: 0
};

const AFFECTIVE: AffectiveForm = {
	form: 'affective',
	fragrance: 7,
	aroma: 7,
	flavour: 8,
	aftertaste: 7,
	acidity: 6,
	sweetness: 7,
	mouthfeel: 7,
	overall: 8,
	nonUniformCups: 0,
	defectiveCups: 0
};

describe('the sum form (rule 1)', () => {
	it('adds qualities and cups and takes defects off', () => {
		// 53.25 qualities + 28 for cups - 2 for the taint.
		expect(cuppingScore(SUM)).toBe(79.25);
	});

	it.each([
		['flavour', 7.6],
		['flavour', 5.75],
		['overall', 10.25],
		['body', Number.NaN],
		['cleanCups', 6],
		['sweetCups', -1],
		['taintCups', 1.5]
	])('refuses %s of %f', (field, value) => {
		const outcome = checkCupping({ ...SUM, [field]: value });
		expect(outcome.ok ? [] : outcome.problems.map((problem) => problem.path)).toEqual([field]);
	});
});

describe('the affective form (rule 2)', () => {
	it('refuses scores off the scale, all of them at once', () => {
		const outcome = checkCupping({ ...AFFECTIVE, aroma: 0, overall: 7.5, defectiveCups: 6 });
		expect(outcome.ok ? [] : outcome.problems.map((problem) => problem.path)).toEqual([
			'aroma',
			'overall',
			'defectiveCups'
		]);
	});

	it('never scores a form with a fault', () => {
		expect(() => cuppingScore({ ...AFFECTIVE, aroma: 10 })).toThrow('Aroma: found 10');
	});

	it('tells every score apart by one step of liking', () => {
		const scores = [5, 6, 7, 8, 9].map((overall) => cuppingScore({ ...AFFECTIVE, overall }));
		expect(new Set(scores).size).toBe(5);
	});
});

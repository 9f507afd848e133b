import { bad, good, type Outcome, type Problem } from '../quantity/problem.ts';

/**
 * Cupping forms and their scores. Two are in use and their scales can't be compared: the sum form of 2004
 * (ten attributes less defects) and the affective form of 2024 (eight liking scores of 1 to 9). A table has
 * five cups of a coffee.
 *
 * 1. Sum form: seven qualities from 6 to 10 in steps of .25; two points a cup for uniformity, clean cup
 *    and sweetness; less 2 a cup with a taint and 4 a cup with a fault.
 * 2. Affective form: S = 0.65625 sum(h) + 52.75 - 2u - 4d, to the nearest .25, ties up. The standard's own
 *    text could not be read; the formula is from memory.
 */

export const CUPS = 5;

/** Qualities of the sum form, in its order. */
export const SUM_QUALITIES = {
	fragranceAroma: 'Fragrance and aroma',
	flavour: 'Flavour',
	aftertaste: 'Aftertaste',
	acidity: 'Acidity',
	body: 'Body',
	balance: 'Balance',
	overall: 'Overall'
} as const;

/** Cups of five that the sum form counts for two points each. */
export const SUM_CUPS = {
	uniformCups: 'Uniform cups',
	cleanCups: 'Clean cups',
	sweetCups: 'Sweet cups'
} as const;

/** Cups of five that the sum form takes points off for. */
export const SUM_DEFECTS = {
	taintCups: 'Cups with a taint',
	faultCups: 'Cups with a fault'
} as const;

/** Liking scores of the affective form, in its order. */
export const AFFECTIVE_SCORES = {
	fragrance: 'Fragrance',
	aroma: 'Aroma',
	flavour: 'Flavour',
	aftertaste: 'Aftertaste',
	acidity: 'Acidity',
	sweetness: 'Sweetness',
	mouthfeel: 'Mouthfeel',
	overall: 'Overall'
} as const;

/** Cups of five that the affective form takes points off for. */
export const AFFECTIVE_CUPS = {
	nonUniformCups: 'Cups that differ',
	defectiveCups: 'Defective cups'
} as const;

type Fields<Labels> = { readonly [field in keyof Labels]: number };

export type SumForm = { readonly form: 'sum' } & Fields<typeof SUM_QUALITIES> &
	Fields<typeof SUM_CUPS> &
	Fields<typeof SUM_DEFECTS>;

export type AffectiveForm = { readonly form: 'affective' } & Fields<typeof AFFECTIVE_SCORES> &
	Fields<typeof AFFECTIVE_CUPS>;

export type CuppingForm = SumForm | AffectiveForm;

/** Checks every field of a filled form; the path of a problem is the field's name. */
export function checkCupping<F extends CuppingForm>(form: F): Outcome<F> {
	const problems = form.form === 'sum' ? sumProblems(form) : affectiveProblems(form);
	return problems.length === 0 ? good(form) : bad(...problems);
}

/**
 * The score of a filled form on its own scale, exact (every value is a multiple of .25).
 * @throws RangeError when the form doesn't pass `checkCupping`
 */
export function cuppingScore(form: CuppingForm): number {
	const checked = checkCupping(form);
	if (!checked.ok) {
		const faults = checked.problems.map((problem) => `${problem.path}: ${problem.message}`);
		throw new RangeError(faults.join('; '));
	}
	if (form.form === 'sum') return sumScore(form);
	return Math.round(affectiveScoreUnrounded(form) * 4) / 4;
}

/** The affective score before it is rounded to .25. */
export function affectiveScoreUnrounded(form: AffectiveForm): number {
	const liking = total(form, AFFECTIVE_SCORES);
	return 0.65625 * liking + 52.75 - 2 * form.nonUniformCups - 4 * form.defectiveCups;
}

function sumScore(form: SumForm): number {
	const cups = 2 * total(form, SUM_CUPS);
	return total(form, SUM_QUALITIES) + cups - 2 * form.taintCups - 4 * form.faultCups;
}

function total<Labels extends object>(form: Fields<Labels>, labels: Labels): number {
	const fields = Object.keys(labels) as (keyof Labels)[];
	return fields.reduce((sum, field) => sum + form[field], 0);
}

function sumProblems(form: SumForm): Problem[] {
	return [
		...faults(form, SUM_QUALITIES, isQuality, 'a quality from 6 to 10 in steps of .25'),
		...faults(form, SUM_CUPS, isCups, CUP_COUNT),
		...faults(form, SUM_DEFECTS, isCups, CUP_COUNT)
	];
}

function affectiveProblems(form: AffectiveForm): Problem[] {
	return [
		...faults(form, AFFECTIVE_SCORES, isLiking, 'a whole number from 1 to 9'),
		...faults(form, AFFECTIVE_CUPS, isCups, CUP_COUNT)
	];
}

const CUP_COUNT = `a number of cups from 0 to ${CUPS}`;

const isQuality = (value: number) => value >= 6 && value <= 10 && Number.isInteger(value * 4);
const isLiking = (value: number) => Number.isInteger(value) && value >= 1 && value <= 9;
const isCups = (value: number) => Number.isInteger(value) && value >= 0 && value <= CUPS;

function faults<Labels extends Record<string, string>>(
	form: Fields<Labels>,
	labels: Labels,
	fits: (value: number) => boolean,
	expected: string
): Problem[] {
	return Object.entries(labels)
		.filter(([field]) => !fits(form[field as keyof Labels]))
		.map(([field, label]) => {
			const message = `${label}: found ${form[field as keyof Labels]}, expected ${expected}`;
			return { path: field, message };
		});
}

import type { DrumMark, DrumReading } from '../drum/reading.ts';
import type { Problem } from '../quantity/problem.ts';
import { settingChanges, type TestSettings } from './settings.ts';

/**
 * What an approved recipe holds a batch to. Rules of this file, cited in test names:
 *
 * R1 The target is the approved test as its log was read: its curve from the turning point on, and its
 *    marks. A test without a log gives a recipe without a target.
 * R2 Tolerances start from common practice, no source; a person can set others, which makes a version.
 * R3 A version never changes; what changed between two is computed from both.
 */

/** Where the approved test stood at a mark. */
export interface RecipeMark {
	/** Seconds from charge. */
	readonly timeS: number;
	/** Bean temperature, C; null where the log had none. */
	readonly temperatureC: number | null;
}

export const RECIPE_MARKS = ['turningPoint', 'colourChange', 'firstCrack', 'drop'] as const;
export type RecipeMarkName = (typeof RECIPE_MARKS)[number];

/** What the log of the approved test gives a recipe. */
export interface RecipeTarget {
	/** Method that read the log. */
	readonly method: string;
	/** Seconds between two values of `beanC`, the first at charge. */
	readonly stepS: number;
	/** Bean temperature, C; null before the turning point and in gaps. */
	readonly beanC: readonly (number | null)[];
	readonly marks: Readonly<Record<RecipeMarkName, RecipeMark | null>>;
	/** First crack to drop of the whole time, 0 to 1. */
	readonly developmentRatio: number | null;
}

/** A colour value by the scale that the roastery uses, and how far a batch may be from it. */
export interface RecipeColour {
	readonly value: number;
	/** The user's own name of the scale. */
	readonly scale: string;
	readonly within: number;
}

/** What a recipe holds beside charge and settings. Times in s, temperatures in C, losses 0 to 1. */
export interface RecipeStandard {
	readonly target: RecipeTarget | null;
	/** Half the height of the band about the target curve, C. */
	readonly bandC: number;
	/** How far a mark may be in time, s ... */
	readonly markS: number;
	/** ... and in bean temperature, C. */
	readonly markC: number;
	readonly lossLow: number;
	readonly lossHigh: number;
	readonly colour: RecipeColour | null;
	readonly descriptors: string;
}

/** Tolerances that a recipe starts from: common practice, no source. */
export const USUAL_TOLERANCES = {
	bandC: 3,
	markS: 15,
	markC: 2,
	/** Of the charge, either way. */
	loss: 0.01,
	/** On the scale of the colour value. */
	colour: 2
} as const;

const TARGET_STEP_S = 5;

/** The target that a reading gives (R1). */
export function recipeTarget(reading: DrumReading): RecipeTarget {
	const { turningPoint, colourChange, firstCrack, drop } = reading.marks;
	const fromS = turningPoint?.timeS ?? 0;
	const { timeS, beanC } = reading.series;
	const kept = timeS.flatMap((t, i) =>
		i % TARGET_STEP_S === 0 ? [t < fromS ? null : tenth(beanC[i] ?? null)] : []
	);
	return {
		method: reading.method,
		stepS: TARGET_STEP_S,
		beanC: kept,
		marks: {
			turningPoint: markOf(turningPoint),
			colourChange: markOf(colourChange),
			firstCrack: markOf(firstCrack),
			drop: markOf(drop)
		},
		developmentRatio: reading.developmentRatio
	};
}

function markOf(mark: DrumMark | null): RecipeMark | null {
	return mark && { timeS: tenth(mark.timeS)!, temperatureC: tenth(mark.temperatureC) };
}

function tenth(value: number | null): number | null {
	return value === null ? null : Math.round(10 * value) / 10;
}

export interface ApprovedTest {
	/** Its log as read; null without one, or where it can't be read. */
	readonly reading: DrumReading | null;
	readonly chargeG: number;
	readonly outG: number;
	/** As measured last, with the name of its scale. */
	readonly colour: { readonly value: number; readonly scale: string } | null;
	/** Of its last cupping. */
	readonly descriptors: string;
}

/** The standard that an approved test gives, with the usual tolerances (R2). */
export function standardOf(test: ApprovedTest): RecipeStandard {
	const loss = (test.chargeG - test.outG) / test.chargeG;
	const { bandC, markS, markC, loss: lossWithin, colour: within } = USUAL_TOLERANCES;
	return {
		target: test.reading && recipeTarget(test.reading),
		...{ bandC, markS, markC },
		lossLow: roundShare(Math.max(0, loss - lossWithin)),
		lossHigh: roundShare(Math.min(1, loss + lossWithin)),
		colour: test.colour && { ...test.colour, within },
		descriptors: test.descriptors
	};
}

/** To a tenth of a per cent, as people set it. */
function roundShare(share: number): number {
	return Math.round(share * 1000) / 1000;
}

/** What is wrong with tolerances that a person set; paths are field names of the recipe's form. */
export function standardProblems(standard: Omit<RecipeStandard, 'target'>): Problem[] {
	const problems: Problem[] = [];
	const aboveZero = { band_c: standard.bandC, mark_s: standard.markS, mark_c: standard.markC };
	for (const [path, value] of Object.entries(aboveZero))
		if (!(value > 0)) problems.push({ path, message: `Found ${value}, expected more than 0.` });
	const { lossLow, lossHigh, colour } = standard;
	if (!(lossLow >= 0 && lossHigh > lossLow && lossHigh < 1))
		problems.push({
			path: 'loss_high_pct',
			message: `Found ${(lossLow * 100).toFixed(1)} to ${(lossHigh * 100).toFixed(1)} %, expected a range from 0 up to less than 100 %.`
		});
	if (colour && colour.scale.trim() === '')
		problems.push({
			path: 'colour_scale',
			message: 'Found a colour value without a scale, expected the name of your scale.'
		});
	if (colour && !(colour.within > 0))
		problems.push({ path: 'colour_within', message: 'Expected more than 0.' });
	return problems;
}

/** One thing that differs between two versions of a recipe. */
export interface RecipeChange {
	readonly label: string;
	readonly difference: string;
}

/** What a version holds, as far as two can differ. */
export interface RecipeVersion {
	readonly roasterName: string;
	readonly settings: TestSettings;
	readonly standard: RecipeStandard | null;
	/** Number of the approved test. */
	readonly test: number;
}

/** What changed from one version to the next, computed from both (R3). */
export function recipeChanges(before: RecipeVersion, after: RecipeVersion): RecipeChange[] {
	const changes: RecipeChange[] = [];
	const say = (label: string, from: string, to: string) => {
		if (from !== to) changes.push({ label, difference: `${from} to ${to}` });
	};
	say('Approved test', String(before.test), String(after.test));
	say('Roaster', before.roasterName, after.roasterName);
	for (const { label, difference } of settingChanges(before.settings, after.settings))
		changes.push({ label, difference });
	const a = standardTexts(before.standard);
	const b = standardTexts(after.standard);
	for (const label of Object.keys(b)) say(label, a[label] ?? 'none', b[label]!);
	return changes;
}

/** A standard in words, so that two are compared by what a person sees. */
export function standardTexts(standard: RecipeStandard | null): Readonly<Record<string, string>> {
	if (!standard) return { 'Held to': 'nothing on record' };
	const { target, bandC, markS, markC, lossLow, lossHigh, colour, descriptors } = standard;
	return {
		Target: target ? targetText(target) : 'none: the test has no log',
		Band: `${bandC} °C either way`,
		Marks: `within ${markS} s and ${markC} °C`,
		'Weight loss': `${(lossLow * 100).toFixed(1)} to ${(lossHigh * 100).toFixed(1)} %`,
		Colour: colour ? `${colour.value} on ${colour.scale}, within ${colour.within}` : 'none',
		Descriptors: descriptors || 'none'
	};
}

function targetText({ marks: { firstCrack, drop } }: RecipeTarget): string {
	const at = (mark: RecipeMark | null) =>
		mark
			? `${minutes(mark.timeS)}${mark.temperatureC === null ? '' : ` at ${mark.temperatureC} °C`}`
			: 'not marked';
	return `crack ${at(firstCrack)}, drop ${at(drop)}`;
}

function minutes(seconds: number): string {
	const whole = Math.round(seconds);
	return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}

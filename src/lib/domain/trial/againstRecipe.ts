import type { DrumReading } from '../drum/reading.ts';
import { RECIPE_MARKS, type RecipeMarkName, type RecipeStandard } from './recipe.ts';

/**
 * A batch held to its recipe. Rules of this file, cited in test names:
 *
 * A1 Curves are laid over each other at charge, and compared where both have a value: from the target's
 *    turning point to the sooner of the two drops.
 * A2 A figure that the batch or the recipe lacks is not judged: null is neither inside nor outside.
 * A3 Colour values of different scales are not compared.
 * A4 Where the turning point lies depends on the charge: it is judged only where the batch's charge is
 *    within a tenth of the recipe's.
 */

/** A figure of a batch beside its recipe's. */
export interface Held {
	readonly found: number | null;
	readonly wanted: number | null;
	/** found - wanted; null where either is missing. */
	readonly off: number | null;
	/** Null where it can't be judged (A2). */
	readonly isInside: boolean | null;
}

export interface HeldMark {
	readonly name: RecipeMarkName;
	/** Seconds from charge. */
	readonly time: Held;
	/** Bean temperature, C. */
	readonly temperature: Held;
}

export interface HeldCurve {
	/** Of the compared time, 0 to 1. */
	readonly inBand: number;
	/** Mean signed distance from the target, C. */
	readonly meanOffC: number;
	/** The largest distance, signed, C, and when, seconds from charge. */
	readonly largestOffC: number;
	readonly largestAtS: number;
	readonly comparedS: number;
}

export interface HeldBatch {
	readonly curve: HeldCurve | null;
	readonly marks: readonly HeldMark[];
	readonly developmentRatio: Held;
	/** 0 to 1; `wanted` is the middle of the range. */
	readonly loss: Held;
	readonly colour: Held;
	/** Why colours are not compared, or null. */
	readonly colourBecause: string | null;
}

export interface BatchFigures {
	/** Null where the batch has no log or it can't be read. */
	readonly reading: Pick<DrumReading, 'series' | 'marks' | 'developmentRatio'> | null;
	/** Charge of the batch over that of the recipe. */
	readonly chargeRatio: number;
	/** 0 to 1. */
	readonly weightLoss: number;
	readonly colour: { readonly value: number; readonly scale: string } | null;
}

/** Holds a batch to the standard of its recipe. */
export function againstRecipe(batch: BatchFigures, standard: RecipeStandard): HeldBatch {
	const { target, lossLow, lossHigh } = standard;
	const { reading } = batch;
	const because = colourBecause(batch, standard);
	return {
		curve: reading && target ? curveAgainst(reading.series, target, standard.bandC) : null,
		marks: RECIPE_MARKS.map((name) => {
			const found = reading?.marks[name] ?? null;
			const wanted = target?.marks[name] ?? null;
			const isJudged = name !== 'turningPoint' || Math.abs(batch.chargeRatio - 1) <= 0.1 + EDGE;
			return {
				name,
				time: held(found?.timeS ?? null, wanted?.timeS ?? null, isJudged ? standard.markS : null),
				temperature: held(
					found?.temperatureC ?? null,
					wanted?.temperatureC ?? null,
					isJudged ? standard.markC : null
				)
			};
		}),
		developmentRatio: held(
			reading?.developmentRatio ?? null,
			target?.developmentRatio ?? null,
			null
		),
		loss: held(batch.weightLoss, (lossLow + lossHigh) / 2, (lossHigh - lossLow) / 2),
		colour:
			because === null
				? held(
						batch.colour?.value ?? null,
						standard.colour?.value ?? null,
						standard.colour?.within ?? null
					)
				: held(batch.colour?.value ?? null, null, null),
		colourBecause: because
	};
}

/** Room for the rounding of a sum at the edge of a tolerance. */
const EDGE = 1e-9;

function held(found: number | null, wanted: number | null, within: number | null): Held {
	if (found === null || wanted === null) return { found, wanted, off: null, isInside: null };
	const off = found - wanted;
	return { found, wanted, off, isInside: within === null ? null : Math.abs(off) <= within + EDGE };
}

function colourBecause({ colour }: BatchFigures, standard: RecipeStandard): string | null {
	if (!colour || !standard.colour || colour.scale === standard.colour.scale) return null;
	return `measured on ${colour.scale}, the recipe's is on ${standard.colour.scale}`;
}

function curveAgainst(
	series: DrumReading['series'],
	{ stepS, beanC }: NonNullable<RecipeStandard['target']>,
	bandC: number
): HeldCurve | null {
	let inside = 0;
	let count = 0;
	let sum = 0;
	let largest = { offC: 0, atS: 0 };
	for (const [i, second] of series.timeS.entries()) {
		if (second % stepS !== 0) continue;
		const wanted = beanC[second / stepS] ?? null;
		const found = series.beanC[i] ?? null;
		if (wanted === null || found === null) continue;
		const offC = found - wanted;
		count++;
		sum += offC;
		if (Math.abs(offC) <= bandC + EDGE) inside++;
		if (Math.abs(offC) > Math.abs(largest.offC)) largest = { offC, atS: second };
	}
	if (count === 0) return null;
	return {
		inBand: inside / count,
		meanOffC: sum / count,
		largestOffC: largest.offC,
		largestAtS: largest.atS,
		comparedS: (count - 1) * stepS
	};
}

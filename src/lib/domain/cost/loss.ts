import { ratio } from '../quantity/decimal.ts';
import { fromMajor, type Money, scale, subtract } from '../quantity/money.ts';
import type { InstantMs } from '../quantity/time.ts';

/**
 * Losses: of mass in the roast, and of what a process puts in (process costing with normal and abnormal
 * loss).
 */

/** Where the mass of a roast went. Grams are not rounded: they rest on measured moistures. */
export interface WeightLossSplit {
	/** Share of the green mass that was lost, 0 to 1. */
	readonly weightLoss: number;
	/** Net water removed. Water that reactions make leaves too, but counts as dry matter here. */
	readonly waterG: number;
	readonly dryMatterG: number;
	/** Dry matter lost as a share of the dry matter put in. */
	readonly organicLoss: number;
}

/**
 * Splits the weight loss of a roast into water and dry matter by the moistures before and after.
 * @param greenMoisture wet basis, 0 to 1
 * @param roastedMoisture wet basis, 0 to 1
 * @throws RangeError when a mass is not above zero or a moisture is not from 0 to below 1
 */
export function splitWeightLoss(
	greenG: number,
	greenMoisture: number,
	roastedG: number,
	roastedMoisture: number
): WeightLossSplit {
	for (const mass of [greenG, roastedG]) {
		if (!(mass > 0)) throw new RangeError(`a mass must be above zero, found ${mass} g`);
	}
	for (const share of [greenMoisture, roastedMoisture]) {
		if (!(share >= 0 && share < 1)) throw new RangeError(`a moisture is 0 to 1, found ${share}`);
	}
	const waterG = greenG * greenMoisture - roastedG * roastedMoisture;
	const dryMatterG = greenG - roastedG - waterG;
	return {
		weightLoss: (greenG - roastedG) / greenG,
		waterG,
		dryMatterG,
		organicLoss: dryMatterG / (greenG * (1 - greenMoisture))
	};
}

export interface ProcessInput {
	readonly inputG: number;
	/** All that went in: material, labour, overhead. */
	readonly cost: Money;
	/** Loss that the process always has, millionths of the input. */
	readonly normalLossPpm: number;
	/** What lost mass can be sold for, ten-thousandths of the major unit a kilogram. */
	readonly scrapPerKgE4: number;
	readonly outputG: number;
}

export interface ProcessCost {
	readonly normalLossG: number;
	/** Output that the normal loss would leave. */
	readonly expectedG: number;
	/** What the normal loss is sold for; it lowers the cost of the good output. */
	readonly normalScrap: Money;
	/** Cost of the good output at the normal cost a kilogram. */
	readonly output: Money;
	/** Loss beyond the normal one in grams; below zero for a gain. */
	readonly abnormalG: number;
	/** The abnormal loss at the cost of good output; below zero for a gain. */
	readonly abnormal: Money;
	/** The abnormal loss after its scrap is sold: the charge to profit and loss. */
	readonly abnormalNet: Money;
}

/**
 * Process costing: the normal loss is borne by the good output, the abnormal one is charged by itself. The
 * normal cost of a kilogram is (cost - normal scrap) / expected output; output + abnormal + normal scrap is
 * the cost put in, to the minor unit.
 * @throws RangeError when nothing is expected to come out
 */
export function processCost(input: ProcessInput): ProcessCost {
	const { inputG, cost, outputG } = input;
	const normalLossG = Math.round((inputG * input.normalLossPpm) / 1_000_000);
	const expectedG = inputG - normalLossG;
	if (expectedG <= 0) throw new RangeError(`no output is expected of ${inputG} g`);
	const scrap = (massG: number) => scrapValue(massG, input.scrapPerKgE4, cost);
	const borne = subtract(cost, scrap(normalLossG));
	const output = scale(borne, ratio(outputG, expectedG));
	const abnormalG = expectedG - outputG;
	const abnormal = subtract(borne, output);
	return {
		normalLossG,
		expectedG,
		normalScrap: scrap(normalLossG),
		output,
		abnormalG,
		abnormal,
		abnormalNet: subtract(abnormal, scrap(abnormalG))
	};
}

function scrapValue(massG: number, perKgE4: number, { currency }: Money): Money {
	return fromMajor(ratio(BigInt(massG) * BigInt(perKgE4), 10_000_000n), currency);
}

/** A recipe's weight loss as it was approved. */
export interface ApprovedLoss {
	readonly lotId: number;
	readonly kind: string;
	readonly approvedAt: InstantMs;
	/** Millionths of the green mass. */
	readonly weightLossPpm: number;
	/** Of the recipe, from 1. */
	readonly version: number;
}

/** The loss that a roast is held to, and why that one. */
export interface NormalLoss {
	readonly ppm: number;
	readonly because: string;
}

/**
 * What roasting normally takes off a lot: the weight loss of its recipe in force at that moment; before
 * its first, the mean of the recipes of its kind approved by then; then of any kind; then the usual one.
 * Which of these to hold a test to is common practice, no source.
 * @param recipes of all lots
 * @param usualPpm where no recipe was approved by then
 */
export function normalLosses(recipes: readonly ApprovedLoss[], usualPpm: number) {
	const oldestFirst = recipes.toSorted((a, b) => a.approvedAt - b.approvedAt);
	const byLot = Map.groupBy(oldestFirst, ({ lotId }) => lotId);
	const byKind = Map.groupBy(oldestFirst, ({ kind }) => kind);
	return (lotId: number, kind: string, at: InstantMs): NormalLoss => {
		const own = byLot.get(lotId)?.findLast(({ approvedAt }) => approvedAt <= at);
		if (own) return { ppm: own.weightLossPpm, because: `recipe ${own.version} of the lot` };
		const before = (of: readonly ApprovedLoss[]) => of.filter(({ approvedAt }) => approvedAt <= at);
		const alike = before(byKind.get(kind) ?? []);
		if (alike.length > 0) return meanLoss(alike, `${kind} lots`);
		const any = before(oldestFirst);
		if (any.length > 0) return meanLoss(any, 'lots of any kind');
		return { ppm: usualPpm, because: 'taken as usual: no recipe was approved by then' };
	};
}

function meanLoss(of: readonly ApprovedLoss[], whose: string): NormalLoss {
	const all = of.reduce((sum, { weightLossPpm }) => sum + weightLossPpm, 0);
	const recipes = of.length === 1 ? 'the one recipe' : `the mean of ${of.length} recipes`;
	return { ppm: Math.round(all / of.length), because: `${recipes} of ${whose} approved by then` };
}

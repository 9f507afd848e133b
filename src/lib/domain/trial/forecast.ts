import { betaGeometricPmf } from '../stats/discrete.ts';
import { fitHazard, hazardPmf, type Hazard, type LotTraits, type TestedLot } from './hazard.ts';
import { betaOf, figuresOf, LONGEST, testsOutlook, type TestsOutlook } from './outlook.ts';

/**
 * How many more tests a lot will need.
 *
 * 1. Below `BLEND_FROM_LOTS` released lots the outlook by kind (`outlook.ts`) answers alone.
 * 2. From there on it is blended with the hazard by kind, test number and reading (`hazard.ts`). The
 *    hazard's weight is the one, of `WEIGHTS`, whose blend foretold left-out lots best: the released lots
 *    in `FOLDS` parts, each foretold by the others, by the logarithm of the chance given to what came. It
 *    has to be better by more than luck: `DOUBT`.
 * 3. Only the latest `LATEST_LOTS` released lots count for the hazard.
 */

/** Fewer lots than this say too little about readings; found by simulation (`npm run bench`). */
export const BLEND_FROM_LOTS = 60;
const WEIGHTS = [0, 0.25, 0.5, 0.75, 1] as const;
const FOLDS = 5;
/** What the hazard must have foretold better, over all lots, to count in full; nats. */
const DOUBT = 4;
const LATEST_LOTS = 400;
/** Hazards are followed for so many tests; what is left lies beyond. */
const FOLLOWED = 200;

export interface TestsForecast extends TestsOutlook {
	/** Weight of the hazard by reading, 0 to 1. */
	readonly readingWeight: number;
}

export interface TestsForecaster {
	readonly readingWeight: number;
	/** @param done tests the lot has had without release */
	forecast(lot: LotTraits, done: number, others: readonly TestedLot[]): TestsForecast;
}

/** What all forecasts of one moment share. `lots` in order of release, those still open among them. */
export function testsForecaster(lots: readonly TestedLot[]): TestsForecaster {
	const released = lots.filter((lot) => lot.released);
	if (released.length < BLEND_FROM_LOTS)
		return {
			readingWeight: 0,
			forecast: (lot, done, others) => ({ ...byKind(lot, done, others), readingWeight: 0 })
		};
	const latest = latestOf(lots);
	const readingWeight = weightOf(latest);
	const hazard = readingWeight > 0 ? fitHazard(latest) : null;
	return {
		readingWeight,
		forecast: (lot, done, others) =>
			hazard === null
				? { ...byKind(lot, done, others), readingWeight }
				: blended(hazard, readingWeight, lot, done, others)
	};
}

function byKind(lot: LotTraits, done: number, others: readonly TestedLot[]): TestsOutlook {
	return testsOutlook(releasedOf(others), lot.kind, done, openOf(others));
}

function blended(
	hazard: Hazard,
	weight: number,
	lot: LotTraits,
	done: number,
	others: readonly TestedLot[]
): TestsForecast {
	const { a, b, ...kind } = betaOf(releasedOf(others), lot.kind, done, openOf(others));
	const plain = betaGeometricPmf(a, b, LONGEST);
	const read = hazardPmf(hazard, lot, done, FOLLOWED);
	const pmf = plain.map((p, k) => (1 - weight) * p + weight * (read[k] ?? 0));
	const mean = (1 - weight) * (1 + b / (a - 1)) + weight * hazardMean(hazard, lot, done, read);
	const share = Math.round(100 * weight);
	return {
		...figuresOf(pmf, mean),
		...kind,
		basis: `${kind.basis} Its reading, kind and tests so far count ${share} %, as that foretold past lots best.`,
		readingWeight: weight
	};
}

/** Beyond what is followed the chance stays what it is there. */
function hazardMean(hazard: Hazard, lot: LotTraits, done: number, pmf: readonly number[]): number {
	const told = pmf.reduce((sum, p) => sum + p, 0);
	const within = pmf.reduce((sum, p, k) => sum + p * (k + 1), 0);
	const last = hazard.chance(lot, done + FOLLOWED + 1);
	return within + (1 - told) * (FOLLOWED + 1 / last);
}

/** Rule 2. */
function weightOf(lots: readonly TestedLot[]): number {
	const scores = WEIGHTS.map((weight) => -DOUBT * weight);
	for (let fold = 0; fold < FOLDS; fold++) {
		const rest = lots.filter((_, i) => i % FOLDS !== fold);
		const hazard = fitHazard(rest);
		const releasedRest = releasedOf(rest);
		const openRest = openOf(rest);
		for (const lot of lots.filter((one, i) => i % FOLDS === fold && one.released)) {
			const { a, b } = betaOf(releasedRest, lot.kind, 0, openRest);
			const plain = betaGeometricPmf(a, b, lot.fruitless)[lot.fruitless]!;
			const read = hazardPmf(hazard, lot, 0, lot.fruitless + 1)[lot.fruitless]!;
			WEIGHTS.forEach((w, i) => (scores[i]! += Math.log((1 - w) * plain + w * read)));
		}
	}
	return WEIGHTS[scores.indexOf(Math.max(...scores))]!;
}

/** Rule 3: the latest released lots, and all that are still open. */
function latestOf(lots: readonly TestedLot[]): TestedLot[] {
	let skip = lots.filter((lot) => lot.released).length - LATEST_LOTS;
	return lots.filter((lot) => !lot.released || skip-- <= 0);
}

function releasedOf(lots: readonly TestedLot[]) {
	return lots
		.filter((lot) => lot.released)
		.map(({ kind, fruitless }) => ({ kind, testsToRelease: fruitless + 1 }));
}

function openOf(lots: readonly TestedLot[]) {
	return lots
		.filter((lot) => !lot.released && lot.fruitless > 0)
		.map(({ kind, fruitless }) => ({ kind, testsWithoutRelease: fruitless }));
}

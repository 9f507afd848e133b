import type { LotEvents } from '../lot/lot.ts';
import type { InstantMs } from '../quantity/time.ts';
import { geometricPmf } from '../stats/discrete.ts';
import { testsForecaster } from './forecast.ts';
import { PRIOR_LOTS, PRIOR_TESTS } from './outlook.ts';
import { testedLots, testsToRelease, traitsOf, type LotPast } from './remaining.ts';

/**
 * What the forecast of tests would have said of each released lot before its first test, and what came.
 *
 * 1. Each lot is foretold from what was recorded before its first test was roasted, and from nothing else.
 * 2. The reference gives every test of every lot the same chance: lots released until then over their
 *    tests, the stated prior counted in.
 * 3. Only the latest `MOST_LOTS` lots are foretold; the history before them counts in full.
 */

export const MOST_LOTS = 100;
/** Tests that count as few. */
export const FEW_TESTS = 2;

export interface ForetoldLot {
	readonly lotId: number;
	/** Released lots that it was foretold from. */
	readonly history: number;
	/** Chance of at most `FEW_TESTS` tests, and the reference's. */
	readonly chanceFew: number;
	readonly referenceFew: number;
	readonly mean: number;
	/** Interval of at least 80 %. */
	readonly low: number;
	readonly high: number;
	/** What came. */
	readonly tests: number;
}

export interface TestsBacktest {
	/** Oldest first test first. */
	readonly lots: readonly ForetoldLot[];
	/** Mean squared error of the chance of few tests; null without lots. */
	readonly brier: number | null;
	readonly referenceBrier: number | null;
	/** Share of lots whose tests lay in the interval of 80 %. */
	readonly covered: number | null;
	readonly bins: readonly CalibrationBin[];
}

/** Lots whose chance was foretold within a fifth of the scale. */
export interface CalibrationBin {
	readonly from: number;
	readonly to: number;
	readonly lots: number;
	/** Mean of what was foretold, and the lots that came out so. */
	readonly foretold: number;
	readonly came: number;
}

const BINS = 5;

export function backtestTests(lots: readonly LotPast[]): TestsBacktest {
	const released = lots
		.filter(({ events }) => testsToRelease(events) !== null)
		.map((lot) => ({ lot, at: firstTestAt(lot.events) }))
		.sort((a, b) => a.at - b.at)
		.slice(-MOST_LOTS);
	const found = released.map(({ lot, at }) => foretell(lot, lots, at));
	return {
		lots: found,
		brier: brierOf(found, (one) => one.chanceFew),
		referenceBrier: brierOf(found, (one) => one.referenceFew),
		covered: meanOf(found.map(({ tests, low, high }) => (tests >= low && tests <= high ? 1 : 0))),
		bins: binsOf(found)
	};
}

/** Rule 1. */
function foretell(lot: LotPast, lots: readonly LotPast[], at: InstantMs): ForetoldLot {
	const history = testedLots(
		lots
			.filter(({ lotId }) => lotId !== lot.lotId)
			.map((other) => ({ ...other, events: before(other.events, at) }))
	);
	const outlook = testsForecaster(history).forecast(traitsOf(lot), 0, history);
	const known = history.filter((one) => one.released);
	return {
		lotId: lot.lotId,
		history: known.length,
		chanceFew: fewOf(outlook.chances.map(({ chance }) => chance)),
		referenceFew: fewOf(geometricPmf(constantChance(known), FEW_TESTS)),
		mean: outlook.mean,
		low: outlook.low,
		high: outlook.high,
		tests: testsToRelease(lot.events)!
	};
}

/** Rule 2. */
function constantChance(released: readonly { readonly fruitless: number }[]): number {
	const tests = released.reduce((sum, { fruitless }) => sum + fruitless + 1, 0);
	return (released.length + PRIOR_LOTS) / (tests + PRIOR_LOTS * PRIOR_TESTS);
}

/** What was recorded of a lot by then. */
function before(events: LotEvents, at: InstantMs): LotEvents {
	return {
		...events,
		tests: events.tests.filter((t) => t.verdictAt !== null && t.verdictAt < at),
		releasedAt: events.releasedAt.filter((then) => then < at),
		reopenedAt: events.reopenedAt.filter((then) => then < at)
	};
}

function firstTestAt(events: LotEvents): InstantMs {
	const roasted = events.tests.flatMap(({ roastedAt }) => roastedAt ?? []);
	return Math.min(events.releasedAt[0]!, ...roasted);
}

function fewOf(chances: readonly number[]): number {
	return chances.slice(0, FEW_TESTS).reduce((sum, chance) => sum + chance, 0);
}

function brierOf(lots: readonly ForetoldLot[], chance: (lot: ForetoldLot) => number) {
	return meanOf(lots.map((lot) => (chance(lot) - (lot.tests <= FEW_TESTS ? 1 : 0)) ** 2));
}

function meanOf(values: readonly number[]): number | null {
	return values.length === 0 ? null : values.reduce((sum, v) => sum + v, 0) / values.length;
}

function binsOf(lots: readonly ForetoldLot[]): CalibrationBin[] {
	return Array.from({ length: BINS }, (_, bin) => {
		const inside = lots.filter(
			({ chanceFew }) => Math.min(BINS - 1, Math.floor(BINS * chanceFew)) === bin
		);
		return {
			from: bin / BINS,
			to: (bin + 1) / BINS,
			lots: inside.length,
			foretold: meanOf(inside.map(({ chanceFew }) => chanceFew)) ?? 0,
			came: inside.filter(({ tests }) => tests <= FEW_TESTS).length
		};
	}).filter((bin) => bin.lots > 0);
}

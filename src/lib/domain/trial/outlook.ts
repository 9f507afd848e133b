import type { LotKind } from '../lot/lot.ts';
import { betaGeometricPmf } from '../stats/discrete.ts';

/**
 * How many more tests a lot will need, from what lots took before.
 *
 * 1. Each test of a lot releases it with a chance that isn't known; the chance is Beta(a, b), so the tests
 *    still needed are beta-geometric, and a test that didn't release the lot counts against it.
 * 2. A prior that counts as `PRIOR_LOTS` lots of `PRIOR_TESTS` tests each stands for what is known with no
 *    record at all: an easy lot takes one or two tests, a hard one several times that (common practice, no
 *    source).
 * 3. Lots of other kinds count with that prior as at most `KIND_PRIOR_LOTS` lots towards a kind; its own
 *    lots count in full. The expected number is therefore a plain pooled mean.
 * 4. Lots still in test count for the tests they have had without release, else only the quick ones would
 *    be seen.
 *
 * It takes lots of a kind for alike and their tests for independent.
 */

/** Weight of the stated prior, in lots. */
export const PRIOR_LOTS = 4;
/** Tests to release of the stated prior. */
export const PRIOR_TESTS = 2.5;
/** The most that lots of other kinds and the stated prior count for a kind, in lots. */
export const KIND_PRIOR_LOTS = 16;

/** Share of probability that the interval holds at least. */
const INTERVAL = 0.8;
/** Entries are given until this much of the probability is told. */
const TOLD = 0.99;
/** Longest run of tests that is told apart. */
export const LONGEST = 2000;

/** A released lot and the tests it took. */
export interface TestHistory {
	readonly kind: LotKind;
	/** Tests roasted up to and including the approved one, at least 1. */
	readonly testsToRelease: number;
}

/** A lot still in test, other than the one asked about. */
export interface OpenHistory {
	readonly kind: LotKind;
	readonly testsWithoutRelease: number;
}

/** The chance that exactly this many further tests are needed. */
export interface TestsChance {
	readonly tests: number;
	readonly chance: number;
}

export interface TestsOutlook {
	/** From one further test on, until 99 % is told. */
	readonly chances: readonly TestsChance[];
	/** The chance that more tests are needed than `chances` tells. */
	readonly chanceBeyond: number;
	readonly mean: number;
	/** The interval from `low` to `high` holds at least 80 %: at most a tenth lies on either side. */
	readonly low: number;
	readonly high: number;
	/** What the figures rest on, for a person. */
	readonly basis: string;
	readonly lotsOfKind: number;
	readonly lotsOfOtherKinds: number;
}

/**
 * Tests still needed until a lot is released.
 * @param history released lots, of any kind
 * @param testsDone tests this lot has had without release
 * @param stillOpen other lots in test
 * @throws RangeError when a count is not whole or below its least
 */
export function testsOutlook(
	history: readonly TestHistory[],
	kind: LotKind,
	testsDone: number,
	stillOpen: readonly OpenHistory[] = []
): TestsOutlook {
	const { a, b, ...rest } = betaOf(history, kind, testsDone, stillOpen);
	return { ...figuresOf(betaGeometricPmf(a, b, LONGEST), 1 + b / (a - 1)), ...rest };
}

/** The Beta(a, b) of rule 1, of which a is above 1, with what it rests on. */
export function betaOf(
	history: readonly TestHistory[],
	kind: LotKind,
	testsDone: number,
	stillOpen: readonly OpenHistory[]
) {
	checkCounts(history, testsDone, stillOpen);
	const own = evidence(history, stillOpen, (of) => of === kind);
	const others = evidence(history, stillOpen, (of) => of !== kind);
	const prior = kindPrior(others);
	return {
		a: 1 + prior.lots + own.lots,
		b: prior.failures + own.failures + testsDone,
		basis: basisText(kind, own, others, prior),
		lotsOfKind: own.lots,
		lotsOfOtherKinds: others.lots
	};
}

/** The chance that at most `tests` further tests are needed. */
export function chanceWithin({ chances }: TestsOutlook, tests: number): number {
	return chances.reduce((sum, entry) => (entry.tests <= tests ? sum + entry.chance : sum), 0);
}

/** Released lots, and the tests that released none of them. */
interface Evidence {
	readonly lots: number;
	readonly failures: number;
}

function evidence(
	history: readonly TestHistory[],
	stillOpen: readonly OpenHistory[],
	counts: (kind: LotKind) => boolean
): Evidence {
	const released = history.filter((lot) => counts(lot.kind));
	const open = stillOpen.filter((lot) => counts(lot.kind));
	const failures =
		released.reduce((sum, lot) => sum + lot.testsToRelease - 1, 0) +
		open.reduce((sum, lot) => sum + lot.testsWithoutRelease, 0);
	return { lots: released.length, failures };
}

/** Rules 2 and 3: the stated prior and the other kinds, shrunk to the weight they may have. */
function kindPrior(others: Evidence): Evidence {
	const lots = PRIOR_LOTS + others.lots;
	const failures = PRIOR_LOTS * (PRIOR_TESTS - 1) + others.failures;
	const weight = Math.min(KIND_PRIOR_LOTS, lots);
	return { lots: weight, failures: (failures / lots) * weight };
}

/**
 * The figures of a distribution of further tests.
 * @param pmf entry k is the chance of k + 1 further tests
 * @param mean of the whole distribution, which may reach beyond `pmf`
 */
export function figuresOf(
	pmf: readonly number[],
	mean: number
): Pick<TestsOutlook, 'chances' | 'chanceBeyond' | 'mean' | 'low' | 'high'> {
	const tail = (1 - INTERVAL) / 2;
	const chances = pmf
		.slice(0, reach(pmf, TOLD))
		.map((chance, index) => ({ tests: index + 1, chance }));
	const sum = chances.reduce((all, entry) => all + entry.chance, 0);
	return {
		chances,
		chanceBeyond: Math.max(0, 1 - sum),
		mean,
		low: reach(pmf, tail),
		high: reach(pmf, 1 - tail)
	};
}

/** The least number of tests whose cumulative chance reaches `level`. */
function reach(pmf: readonly number[], level: number): number {
	let sum = 0;
	for (const [index, chance] of pmf.entries()) {
		sum += chance;
		// A level that is met to within rounding is met.
		if (sum >= level - 1e-12) return index + 1;
	}
	return pmf.length;
}

function basisText(kind: LotKind, own: Evidence, others: Evidence, prior: Evidence): string {
	const mean = (1 + prior.failures / prior.lots).toFixed(1);
	const stated =
		others.lots === 0
			? 'a stated prior'
			: `${lotsText(others.lots)} of other kinds and a stated prior`;
	const from =
		own.lots === 0 ? `No ${kind} lot is released yet` : `From ${lotsText(own.lots, kind)}`;
	const count = others.lots === 0 ? 'counts' : 'count';
	return `${from}; ${stated} ${count} as ${prior.lots} lots of ${mean} tests each.`;
}

function lotsText(count: number, kind?: LotKind): string {
	return `${count} ${kind === undefined ? '' : `${kind} `}${count === 1 ? 'lot' : 'lots'}`;
}

function checkCounts(
	history: readonly TestHistory[],
	testsDone: number,
	stillOpen: readonly OpenHistory[]
): void {
	const least = (value: number, from: number, what: string) => {
		if (!Number.isInteger(value) || value < from) {
			throw new RangeError(`${what} must be a whole number from ${from}, found ${value}`);
		}
	};
	least(testsDone, 0, 'tests done');
	for (const lot of history) least(lot.testsToRelease, 1, 'tests to release');
	for (const lot of stillOpen) least(lot.testsWithoutRelease, 0, 'tests without release');
}

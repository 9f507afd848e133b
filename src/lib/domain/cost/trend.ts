import type { Day } from '../quantity/time.ts';
import { type Currency, type Money, money } from '../quantity/money.ts';
import {
	exactRateInterval,
	exactRateRatio,
	type RateInterval,
	type RateRatio
} from '../stats/exactRates.ts';
import { meanDifference } from '../stats/meanDifference.ts';
import { mean, standardDeviation } from '../stats/summary.ts';

/**
 * Whether some lots took fewer tests than others.
 *
 * 1. A lot counts once it is released, with the tests roasted up to its first release. What was tested
 *    after a re-opening is left out: older lots had longer to be re-opened.
 * 2. Tests a lot are compared as rates, with the exact interval of their ratio (`stats/exactRates.ts`).
 * 3. Where that interval holds 1, the data can't tell.
 * 4. Green and money a lot are compared as means, with Welch's interval (`stats/meanDifference.ts`).
 * 5. Where several comparisons stand together, the level of each is raised so that all of them hold with
 *    95 % at least (Bonferroni).
 * 6. The exact interval takes counts to spread like Poisson counts: variance over mean 1. Where a group
 *    spreads more, the interval is too narrow; where it spreads less, too wide, which is on the safe side.
 */

/** A released lot with what it took up to its first release (rule 1). */
export interface TestedLot {
	readonly code: string;
	/** Day of its first release. */
	readonly releasedOn: Day;
	readonly tests: number;
	/** Green grams of those tests. */
	readonly greenG: number;
	/** Net cost of those tests; null where one of them can't be costed. */
	readonly net: Money | null;
}

export interface LotGroup {
	readonly lots: readonly TestedLot[];
	readonly tests: number;
	/** Tests a lot with their exact interval; null without lots. */
	readonly perLot: RateInterval | null;
	/** Mean green grams a lot; null without lots. */
	readonly greenGPerLot: number | null;
	/** Mean over the lots whose tests are all costed; null without one. */
	readonly netPerLot: Money | null;
	readonly costedLots: number;
	/** Variance over mean of tests a lot (rule 6); null below two lots or without tests. */
	readonly dispersion: number | null;
}

/** A difference in grams or in minor units, with its interval. */
export interface Saved<T> {
	readonly each: T;
	readonly low: T;
	readonly high: T;
}

/** What the interval of the ratio says (rule 3). */
export type TrendVerdict = 'fewer' | 'more' | "can't tell" | 'nothing to compare';

export interface TestTrend {
	readonly reference: LotGroup;
	readonly asked: LotGroup;
	/** Tests a lot of `asked` over those of `reference`; null where either has no lot. */
	readonly ratio: RateRatio | null;
	readonly verdict: TrendVerdict;
	/** Of the intervals of the ratio and of what is saved. */
	readonly level: number;
	/** Green a lot that `asked` took less than `reference`; null where there is no interval. */
	readonly savedG: Saved<number> | null;
	readonly savedNet: Saved<Money> | null;
}

/** A group of lots summed up. */
export function lotGroup(lots: readonly TestedLot[], currency: Currency): LotGroup {
	const counts = lots.map((lot) => lot.tests);
	const tests = counts.reduce((all, n) => all + n, 0);
	const nets = netsOf(lots);
	return {
		lots,
		tests,
		perLot: lots.length > 0 ? exactRateInterval({ events: tests, exposure: lots.length }) : null,
		greenGPerLot: lots.length > 0 ? mean(lots.map((lot) => lot.greenG)) : null,
		netPerLot: nets.length > 0 ? money(Math.round(mean(nets)), currency) : null,
		costedLots: nets.length,
		dispersion: lots.length > 1 && tests > 0 ? standardDeviation(counts) ** 2 / mean(counts) : null
	};
}

/**
 * Compares `asked` (lots since a date, of a kind) with `reference` (those before it, all others).
 * @param together comparisons that stand together (rule 5)
 */
export function testTrend(
	reference: readonly TestedLot[],
	asked: readonly TestedLot[],
	currency: Currency,
	together = 1
): TestTrend {
	const level = 1 - 0.05 / together;
	const ratio = ratioOf(reference, asked, level);
	const green = meanDifference(
		reference.map((lot) => lot.greenG),
		asked.map((lot) => lot.greenG),
		level
	);
	const net = meanDifference(netsOf(reference), netsOf(asked), level);
	const asMoney = (minor: number) => money(Math.round(minor), currency);
	return {
		reference: lotGroup(reference, currency),
		asked: lotGroup(asked, currency),
		ratio,
		level,
		verdict: verdictOf(ratio),
		savedG: green && { each: green.difference, low: green.low, high: green.high },
		savedNet: net && {
			each: asMoney(net.difference),
			low: asMoney(net.low),
			high: asMoney(net.high)
		}
	};
}

function ratioOf(
	reference: readonly TestedLot[],
	asked: readonly TestedLot[],
	level: number
): RateRatio | null {
	if (reference.length === 0 || asked.length === 0) return null;
	const counted = (lots: readonly TestedLot[]) => ({
		events: lots.reduce((all, lot) => all + lot.tests, 0),
		exposure: lots.length
	});
	return exactRateRatio(counted(asked), counted(reference), level);
}

function verdictOf(ratio: RateRatio | null): TrendVerdict {
	if (ratio === null) return 'nothing to compare';
	if (ratio.high < 1) return 'fewer';
	return ratio.low > 1 ? 'more' : "can't tell";
}

function netsOf(lots: readonly TestedLot[]): number[] {
	return lots.flatMap(({ net }) => (net === null ? [] : [net.minor]));
}

import type { Day, IsoWeek } from '../quantity/time.ts';
import { addDays, addWeeks } from '../quantity/week.ts';
import { stockCover, type StockFacts } from './cover.ts';
import type { DayChance } from './ready.ts';

/**
 * How fast stock may really be used.
 *
 * 1. Use goes up and down as it did before: the spread is that of the logarithm of one block of
 *    `BLOCK_WEEKS` weeks over the block before it, which is the error of expecting the same again. With
 *    fewer than `ENOUGH_BLOCKS` blocks it is `USUAL_SPREAD` (common practice, no source).
 * 2. What is needed is multiplied by a factor from a lognormal distribution of that spread about 1, which
 *    stands in the middle of `POINTS` equally likely slices.
 */

export const BLOCK_WEEKS = 4;
export const ENOUGH_BLOCKS = 4;
export const USUAL_SPREAD = 0.15;
/** z at the middle of nine equally likely slices of the normal distribution (1/18, 3/18, ... 17/18). */
const SLICE_Z = [
	-1.593219, -0.967422, -0.589456, -0.282216, 0, 0.282216, 0.589456, 0.967422, 1.593219
];

export interface UseSpread {
	/** Standard deviation of the logarithm of the factor. */
	readonly spread: number;
	/** Blocks it was worked out from; 0 where it is the usual one. */
	readonly blocks: number;
}

/**
 * Rule 1.
 * @param byWeek what was asked of the products that use a lot, in whole weeks that are over
 * @param until the first week that doesn't count any more
 */
export function useSpread(
	byWeek: ReadonlyMap<IsoWeek, number>,
	until: IsoWeek,
	weeks: number
): UseSpread {
	const blocks = Array.from({ length: Math.floor(weeks / BLOCK_WEEKS) }, (_, block) =>
		Array.from(
			{ length: BLOCK_WEEKS },
			(_, i) => byWeek.get(addWeeks(until, -(block * BLOCK_WEEKS + i + 1))) ?? 0
		).reduce((sum, one) => sum + one, 0)
	);
	const gone = blocks.indexOf(0);
	const known = gone < 0 ? blocks : blocks.slice(0, gone);
	if (known.length < ENOUGH_BLOCKS) return { spread: USUAL_SPREAD, blocks: 0 };
	const squares = known.slice(1).map((earlier, i) => Math.log(known[i]! / earlier) ** 2);
	const mean = squares.reduce((sum, one) => sum + one, 0) / squares.length;
	return { spread: Math.sqrt(mean), blocks: known.length };
}

/** Where a release-by day may fall when it hangs on the run-out of some stock, `leadDays` before it. */
export function releaseByMayFall(stock: StockFacts, spread: number, leadDays: number): DayChance[] {
	const slices = new Map<Day, number>();
	for (const z of SLICE_Z) {
		const factor = Math.exp(spread * z);
		const { runOutDay } = stockCover(usedFaster(stock, factor));
		// Stock that outlasts every look ahead sets no date: the end of the look ahead stands for it.
		const day = addDays(runOutDay ?? addDays(stock.today, BEYOND_DAYS), -leadDays);
		slices.set(day, (slices.get(day) ?? 0) + 1);
	}
	return [...slices]
		.map(([day, count]) => ({ day, chance: count / SLICE_Z.length }))
		.sort((a, b) => (a.day < b.day ? -1 : 1));
}

/** The stock with everything asked of it multiplied. */
function usedFaster(stock: StockFacts, factor: number): StockFacts {
	const scaled = (weeks: StockFacts['needs']) =>
		weeks.map(({ week, greenG }) => ({ week, greenG: Math.round(greenG * factor) }));
	const needs = scaled(stock.needs);
	return stock.later ? { ...stock, needs, later: scaled(stock.later) } : { ...stock, needs };
}

/** Days between which a stock runs out eight times in ten; null where it outlasts the look ahead. */
export function runOutRange(
	stock: StockFacts,
	spread: number
): { readonly earliest: Day | null; readonly latest: Day | null } {
	const days = releaseByMayFall(stock, spread, 0);
	const end = addDays(stock.today, BEYOND_DAYS);
	const reach = (level: number) => {
		let sum = 0;
		const day = days.find(({ chance }) => (sum += chance) >= level - 1e-9)!.day;
		return day === end ? null : day;
	};
	return { earliest: reach(0.1), latest: reach(0.9) };
}

const BEYOND_DAYS = 730;

import { gammaCdf } from './distributions.ts';

/**
 * Kendall's coefficient of concordance: how far several judges rank the same things alike, 0 (not at all)
 * to 1 (the same order). With ties corrected for (Kendall & Babington Smith 1939; the correction after
 * Kendall 1948, Rank Correlation Methods, from memory; checked against R's and SciPy's Friedman test).
 *
 * 1. Each judge's values become ranks, equal values sharing the mean of their ranks.
 * 2. W = (12 S) / (m^2 (n^3 - n) - m T): S the squared deviations of the rank sums, T the sum of t^3 - t
 *    over every group of t tied values of every judge.
 * 3. The chance of a W at least as large when all orders are equally likely is that of chi-squared with
 *    n - 1 degrees of freedom above m (n - 1) W. It is rough below eight things or so.
 * 4. Fewer than two judges or three things, or judges who all tie everything, have no W.
 */
export interface Concordance {
	readonly w: number;
	/** Friedman's statistic, m (n - 1) W. */
	readonly chiSquared: number;
	readonly df: number;
	/** Rule 3, 0 to 1. */
	readonly chance: number;
	readonly judges: number;
	readonly things: number;
}

/**
 * Concordance of judges; null by rule 4.
 * @param values one row a judge, one value a thing, all rows equally long
 * @throws RangeError when rows differ in length or a value isn't finite
 */
export function concordance(values: readonly (readonly number[])[]): Concordance | null {
	const [judges, things] = [values.length, values[0]?.length ?? 0];
	for (const [i, row] of values.entries())
		if (row.length !== things || !row.every(Number.isFinite))
			throw new RangeError(`judge ${i + 1} has ${row.join(', ')}; expected ${things} numbers`);
	if (judges < 2 || things < 3) return null;
	const ranked = values.map(ranks);
	const sums = ranked[0]!.map((_, thing) => ranked.reduce((sum, row) => sum + row[thing]!, 0));
	const centre = (judges * (things + 1)) / 2;
	const squares = sums.reduce((sum, each) => sum + (each - centre) ** 2, 0);
	const ties = values.reduce((sum, row) => sum + tieTerm(row), 0);
	const most = judges ** 2 * (things ** 3 - things) - judges * ties;
	if (most === 0) return null;
	const w = (12 * squares) / most;
	const df = things - 1;
	const chiSquared = judges * df * w;
	return { w, chiSquared, df, chance: 1 - gammaCdf(df / 2, chiSquared / 2), judges, things };
}

/** Ranks from 1 for the smallest; equal values share the mean of theirs. */
export function ranks(values: readonly number[]): number[] {
	return values.map((value) => {
		const below = values.filter((other) => other < value).length;
		const equal = values.filter((other) => other === value).length;
		return below + (equal + 1) / 2;
	});
}

function tieTerm(values: readonly number[]): number {
	const groups = Map.groupBy(values, (value) => value).values();
	return [...groups].reduce((sum, { length: t }) => sum + t ** 3 - t, 0);
}

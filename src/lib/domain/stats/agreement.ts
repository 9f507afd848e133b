/**
 * Agreement of two ways to measure the same thing, after Bland & Altman 1986 (Lancet i:307): the mean
 * of the differences, their standard deviation, and the limits within which 95 % of them lie when they
 * are normal, each with its interval. A correlation is not given: it doesn't measure agreement.
 *
 * Rules:
 * 1. A difference is a less b.
 * 2. Limits are the mean +- 1.96 standard deviations; their standard error is sqrt(3 sd^2 / n), that of
 *    the mean sd / sqrt(n); intervals take the quantile of t with n - 1 degrees of freedom.
 * 3. Fewer than three pairs have no spread worth showing: they get the mean alone, and the reason.
 * 4. Pairs count as independent. Several pairs of one lot are not: give one a lot, or say so.
 */
import { tQuantile } from './distributions.ts';
import { mean, standardDeviation } from './summary.ts';

/** The same thing measured in two ways, in the same unit. */
export interface Pair {
	readonly a: number;
	readonly b: number;
	/** What the pair is counted under beside the whole: a process, a person. */
	readonly group: string;
}

/** A figure with its interval, in the unit of the pairs. */
export interface Estimate {
	readonly value: number;
	readonly low: number;
	readonly high: number;
}

/** How far a and b agree; figures in the unit of the pairs. */
export interface Agreement {
	readonly pairs: number;
	/** Mean of a less b; null without a pair. */
	readonly meanDifference: number | null;
	/** What needs three pairs (rule 3); null below. */
	readonly spread: {
		/** Standard deviation of the differences, divisor n - 1. */
		readonly sd: number;
		readonly meanDifference: Estimate;
		readonly lowerLimit: Estimate;
		readonly upperLimit: Estimate;
	} | null;
	/** Why there is no spread; null when there is. */
	readonly because: string | null;
}

/** Agreement over all pairs, and group by group in the order of their names. */
export interface AgreementByGroup {
	readonly all: Agreement;
	readonly groups: readonly { readonly group: string; readonly agreement: Agreement }[];
}

/** As the paper has it (1986 says 2 in places): the normal point of 95 %, to two places. */
const LIMIT_SDS = 1.96;
const FEWEST_PAIRS = 3;

/**
 * Agreement of the pairs; `level` is the level of the intervals (the limits stay those of 95 %).
 * @throws RangeError on a value that is not finite, with its place, or a level outside 0 to 1
 */
export function agreementOf(pairs: readonly Omit<Pair, 'group'>[], level = 0.95): Agreement {
	if (!(level > 0 && level < 1)) {
		throw new RangeError(`a level is between 0 and 1, found ${level}`);
	}
	const differences = differencePoints(pairs).map(({ difference }) => difference);
	const n = differences.length;
	if (n < FEWEST_PAIRS) {
		const found = n === 0 ? 'no pairs' : n === 1 ? '1 pair' : `${n} pairs`;
		return {
			pairs: n,
			meanDifference: n === 0 ? null : mean(differences),
			spread: null,
			because: `There ${n === 1 ? 'is' : 'are'} ${found} so far; limits of agreement need at least ${FEWEST_PAIRS}.`
		};
	}
	const centre = mean(differences);
	const sd = standardDeviation(differences);
	const t = tQuantile(1 - (1 - level) / 2, n - 1);
	const estimate = (value: number, error: number): Estimate => ({
		value,
		low: value - t * error,
		high: value + t * error
	});
	const limitError = Math.sqrt((3 * sd * sd) / n);
	return {
		pairs: n,
		meanDifference: centre,
		spread: {
			sd,
			meanDifference: estimate(centre, sd / Math.sqrt(n)),
			lowerLimit: estimate(centre - LIMIT_SDS * sd, limitError),
			upperLimit: estimate(centre + LIMIT_SDS * sd, limitError)
		},
		because: null
	};
}

/** Agreement over all pairs and within each group. Throws as `agreementOf` does. */
export function agreementByGroup(pairs: readonly Pair[], level = 0.95): AgreementByGroup {
	const groups = new Map<string, Pair[]>();
	for (const pair of pairs) {
		const members = groups.get(pair.group);
		if (members) members.push(pair);
		else groups.set(pair.group, [pair]);
	}
	return {
		all: agreementOf(pairs, level),
		groups: [...groups.keys()]
			.sort()
			.map((group) => ({ group, agreement: agreementOf(groups.get(group)!, level) }))
	};
}

/** What the chart of the method shows: difference (a less b) over the mean of a and b, pair by pair. */
export function differencePoints(
	pairs: readonly Omit<Pair, 'group'>[]
): { readonly mean: number; readonly difference: number }[] {
	return pairs.map(({ a, b }, i) => {
		if (!Number.isFinite(a) || !Number.isFinite(b)) {
			throw new RangeError(`pair ${i + 1} is ${a} and ${b}; expected two finite numbers`);
		}
		return { mean: (a + b) / 2, difference: a - b };
	});
}

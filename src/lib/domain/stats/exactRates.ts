/**
 * Rates of counted events (tests a lot, faults a hundred batches) with exact intervals: the events are
 * taken for Poisson, their exposure (lots, batches, weeks) for known.
 *
 * Rules:
 * 1. The interval of one rate holds the means under which so few or so many events are not rare: gamma
 *    quantiles (Garwood 1936, from memory).
 * 2. Two rates are compared given the events of both: the first's share of them is binomial. Its
 *    Clopper-Pearson interval becomes that of the ratio; p sums all outcomes no likelier than this one.
 * 3. Exact means never too narrow: a 95 % interval covers 95 % or more, so 'not shown to fall' is not
 *    'shown not to fall'.
 */
import { betaQuantile, gammaQuantile } from './distributions.ts';

export interface EventCount {
	/** Whole, 0 or more. */
	readonly events: number;
	/** Above 0, in the unit that the rate is wanted per. */
	readonly exposure: number;
}

/** Events per unit of exposure. */
export interface RateInterval {
	readonly rate: number;
	readonly low: number;
	readonly high: number;
}

/** The rate of the first count over that of the second. */
export interface RateRatio {
	/** Null where both counts are nought; Infinity where only the second is. */
	readonly ratio: number | null;
	readonly low: number;
	/** Infinity where the data set no upper bound. */
	readonly high: number;
	/** Chance of an outcome no likelier than this one if both rates were the same, two-sided. */
	readonly p: number;
}

/** Exact interval of one rate (rule 1). Throws RangeError on a count that is none. */
export function exactRateInterval(count: EventCount, level = 0.95): RateInterval {
	const { events, exposure } = checked(count);
	const tail = tailOf(level);
	return {
		rate: events / exposure,
		low: events === 0 ? 0 : gammaQuantile(tail, events) / exposure,
		high: gammaQuantile(1 - tail, events + 1) / exposure
	};
}

/** Two rates compared exactly (rule 2). Throws RangeError on a count that is none. */
export function exactRateRatio(first: EventCount, second: EventCount, level = 0.95): RateRatio {
	const a = checked(first);
	const b = checked(second);
	const tail = tailOf(level);
	const total = a.events + b.events;
	if (total === 0) return { ratio: null, low: 0, high: Infinity, p: 1 };
	const ratioOf = (share: number) =>
		share >= 1 ? Infinity : (share / (1 - share)) * (b.exposure / a.exposure);
	const lowShare = a.events === 0 ? 0 : betaQuantile(tail, a.events, b.events + 1);
	const highShare = b.events === 0 ? 1 : betaQuantile(1 - tail, a.events + 1, b.events);
	return {
		ratio: ratioOf(a.events / total),
		low: ratioOf(lowShare),
		high: ratioOf(highShare),
		p: noLikelier(a.events, total, a.exposure / (a.exposure + b.exposure))
	};
}

/** Outcomes as likely as this one but for rounding count with it. */
const SAME = 1 + 1e-7;

/**
 * Chance of a binomial outcome no likelier than `successes`. Chances are built outwards from the
 * likeliest outcome, as shares of its own, so that none overflows and only ones too small to count
 * vanish.
 */
function noLikelier(successes: number, trials: number, share: number): number {
	const odds = share / (1 - share);
	const likeliest = Math.min(trials, Math.floor((trials + 1) * share));
	const weights = new Float64Array(trials + 1);
	weights[likeliest] = 1;
	for (let k = likeliest + 1; k <= trials; k += 1) {
		weights[k] = weights[k - 1]! * ((trials - k + 1) / k) * odds;
	}
	for (let k = likeliest - 1; k >= 0; k -= 1) {
		weights[k] = (weights[k + 1]! * ((k + 1) / (trials - k))) / odds;
	}
	const limit = weights[successes]! * SAME;
	let all = 0;
	let no = 0;
	for (const weight of weights) {
		all += weight;
		if (weight <= limit) no += weight;
	}
	return Math.min(1, no / all);
}

function checked(count: EventCount): EventCount {
	const { events, exposure } = count;
	if (!Number.isSafeInteger(events) || events < 0) {
		throw new RangeError(`a count of events is whole and not below 0, found ${events}`);
	}
	if (!(exposure > 0 && Number.isFinite(exposure))) {
		throw new RangeError(`an exposure is above 0, found ${exposure}`);
	}
	return count;
}

function tailOf(level: number): number {
	if (!(level > 0 && level < 1)) {
		throw new RangeError(`a level is between 0 and 1, found ${level}`);
	}
	return (1 - level) / 2;
}

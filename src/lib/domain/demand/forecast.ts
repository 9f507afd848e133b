import {
	accuracyOf,
	backTest,
	rollingOrigins,
	rootMeanSquare,
	type Accuracy,
	type BackTest,
	type Forecaster
} from './backtest.ts';
import { fitCroston, meanInterval } from './intermittent.ts';
import { fitSeason, fitSimple, fitTrend, naiveAhead, seasonalNaiveAhead } from './smoothing.ts';

/**
 * Forecast of a product's weekly orders, by the method that a back-test chooses for it.
 * 1. Weeks before the first order are left out; of a longer history only the last 156 weeks are used.
 * 2. Every method is back-tested from the same origins, a week apart, its weights fitted anew at each.
 * 3. The error that chooses is the root mean squared one: it is least for the mean, which is what is
 *    planned for, while the mean absolute error is least for the median, nought where most weeks are empty.
 * 4. From the simplest method on, a richer one takes over only if its error is lower by at least 5 %, and
 *    lower over the older and over the newer half of the origins; common practice, no source.
 * 5. Without 13 origins there is no back-test: the last week is carried on, without an interval.
 * 6. The 80 % interval is the forecast plus and minus 1.28 times the root mean squared error at that step
 *    of the back-test, never narrower than at the step before and never below nought.
 * 7. Methods for intermittent demand are tried where orders are more than 1.32 weeks apart on average
 *    (Syntetos, Boylan and Croston 2005, from memory).
 */

/** Weeks forecast, and weeks that each origin of the back-test forecasts. */
export const STEPS_AHEAD = 12;
/** Weeks ahead whose mean is forecast as one figure. */
export const MEAN_WEEKS = 8;
/** Part of the error by which a richer method must be better, rule 4. */
export const LEAST_GAIN = 0.05;
/** Origins that a back-test needs, rule 5. */
export const LEAST_ORIGINS = 13;
/** The most it uses, and what a season needs: it is not judged on a part of the year that happened to agree. */
const MOST_ORIGINS = 26;
const LONGEST_WEEKS = 156;
const SEASON_WEEKS = 52;
/** Weeks the first origin knows at least where no season can be tried. */
const LEAST_KNOWN = 12;
/** Mean weeks between orders from which demand counts as intermittent, rule 7. */
const INTERMITTENT_FROM = 1.32;
/** Two-sided 80 % point of the standard normal distribution. */
const Z_80 = 1.2815515655446004;

export type MethodId =
	| 'naive'
	| 'simple'
	| 'trend'
	| 'seasonal naive'
	| 'season added'
	| 'season multiplied'
	| 'croston'
	| 'croston corrected';

interface Method {
	readonly id: MethodId;
	readonly label: string;
	readonly forecast: Forecaster;
	/** Why it can't be tried on what the first origin knows; null when it can. */
	readonly hindrance: (known: readonly number[]) => string | null;
}

const always = () => null;
const needsWeeks = (weeks: number) => (known: readonly number[]) =>
	known.length >= weeks
		? null
		: `needs ${weeks} weeks before the first of the back-test; there are ${known.length}`;
const isIntermittent = (known: readonly number[]) =>
	(meanInterval(known) ?? 0) > INTERMITTENT_FROM ? null : 'there are orders in almost every week';

function multiplied(known: readonly number[]): string | null {
	return (
		needsWeeks(2 * SEASON_WEEKS)(known) ??
		(known.every((value) => value > 0) ? null : 'needs orders in every week')
	);
}

/** From the simplest on. */
const METHODS: readonly Method[] = [
	{ id: 'naive', label: 'Last week carried on', forecast: naiveAhead, hindrance: always },
	{
		id: 'simple',
		label: 'Simple smoothing',
		forecast: (values, steps) => fitSimple(values).ahead(steps),
		hindrance: always
	},
	{
		id: 'croston',
		label: 'Intermittent (Croston)',
		forecast: (values, steps) => level(fitCroston(values, false).perPeriod, steps),
		hindrance: isIntermittent
	},
	{
		id: 'croston corrected',
		label: 'Intermittent, corrected (Syntetos and Boylan)',
		forecast: (values, steps) => level(fitCroston(values, true).perPeriod, steps),
		hindrance: isIntermittent
	},
	{
		id: 'trend',
		label: 'Smoothing with trend',
		forecast: (values, steps) => fitTrend(values).ahead(steps),
		hindrance: always
	},
	{
		id: 'seasonal naive',
		label: 'Same week a year ago',
		forecast: (values, steps) => seasonalNaiveAhead(values, SEASON_WEEKS, steps),
		hindrance: needsWeeks(SEASON_WEEKS)
	},
	{
		id: 'season added',
		label: 'Smoothing with trend and added season',
		forecast: (values, steps) => fitSeason(values, SEASON_WEEKS, 'additive').ahead(steps),
		hindrance: needsWeeks(2 * SEASON_WEEKS)
	},
	{
		id: 'season multiplied',
		label: 'Smoothing with trend and multiplied season',
		forecast: (values, steps) => fitSeason(values, SEASON_WEEKS, 'multiplicative').ahead(steps),
		hindrance: multiplied
	}
];

const level = (value: number, steps: number) => Array.from({ length: steps }, () => value);

/** A forecast figure with its 80 % interval, in the unit of the history. */
export interface Expected {
	readonly value: number;
	/** Null without a back-test. */
	readonly interval: { readonly low: number; readonly high: number } | null;
}

/** One method and how it fared. */
export interface MethodTrial {
	readonly id: MethodId;
	readonly label: string;
	/** Null when it was not tried. */
	readonly accuracy: Accuracy | null;
	/** Root mean squared error over that of the naive method, less one; null where there is none. */
	readonly againstNaive: number | null;
	readonly isChosen: boolean;
	/** Why it was chosen or not. */
	readonly because: string;
}

export interface DemandForecast {
	/** Weeks of history used, and how many were left out as too old. */
	readonly weeks: number;
	readonly leftOut: number;
	/** Origins of the back-test; 0 without one. */
	readonly origins: number;
	readonly chosen: MethodTrial;
	/** From the simplest on. */
	readonly trials: readonly MethodTrial[];
	/** The next weeks. */
	readonly ahead: readonly Expected[];
	/** Mean per week of the next `MEAN_WEEKS` weeks. */
	readonly mean: Expected;
	/**
	 * Back-tested weeks that lay within the interval which the other origins would have given; null without
	 * a back-test.
	 */
	readonly inside: { readonly count: number; readonly of: number } | null;
}

/**
 * Forecasts the orders of one product.
 * @param orders orders of one week after another, none negative, the oldest first
 * @returns null when nothing was ever ordered
 */
export function forecastDemand(orders: readonly number[]): DemandForecast | null {
	const first = orders.findIndex((value) => value > 0);
	if (first < 0) return null;
	const history = orders.slice(first);
	const values = history.slice(-LONGEST_WEEKS);
	const origins = originsFor(values.length);
	const { trials, tests } =
		origins.length === 0 ? untried(values.length) : tryMethods(values, origins);
	const chosen = trials.find((trial) => trial.isChosen)!;
	const method = METHODS.find(({ id }) => id === chosen.id)!;
	const errors = tests.get(chosen.id)?.errors ?? null;
	const ahead = atLeastNought(method.forecast)(values, STEPS_AHEAD);
	const reaches = errors && reachesOf(errors);
	return {
		weeks: values.length,
		leftOut: history.length - values.length,
		origins: origins.length,
		chosen,
		trials,
		ahead: ahead.map((value, step) => expected(value, reaches && reaches[step]!)),
		mean: expected(
			meanOfFirst(ahead),
			errors && Z_80 * rootMeanSquare(errors.map((row) => meanOfFirst(row)))
		),
		inside: errors && insideOf(errors)
	};
}

/** Rule 5. */
function originsFor(weeks: number): readonly number[] {
	const origins = rollingOrigins(weeks, STEPS_AHEAD, LEAST_KNOWN, MOST_ORIGINS);
	return origins.length >= LEAST_ORIGINS ? origins : [];
}

interface Trials {
	readonly trials: readonly MethodTrial[];
	readonly tests: ReadonlyMap<MethodId, BackTest>;
}

function untried(weeks: number): Trials {
	const least = LEAST_KNOWN + STEPS_AHEAD + LEAST_ORIGINS - 1;
	const because = `a back-test needs ${least} weeks of orders; there are ${weeks}`;
	const trials = METHODS.map(({ id, label }) => ({
		...{ id, label, accuracy: null, againstNaive: null, because },
		isChosen: id === 'naive'
	}));
	return { trials, tests: new Map() };
}

/** Rules 2 to 4. */
function tryMethods(values: readonly number[], origins: readonly number[]): Trials {
	const known = values.slice(0, origins[0]);
	const tests = new Map<MethodId, BackTest>();
	const reasons = new Map<MethodId, string>();
	let holder = METHODS[0]!;
	for (const method of METHODS) {
		const hindrance = method.hindrance(known);
		if (hindrance !== null) {
			reasons.set(method.id, `not tried: ${hindrance}`);
			continue;
		}
		const test = backTest(values, STEPS_AHEAD, origins, atLeastNought(method.forecast));
		tests.set(method.id, test);
		if (method === holder) continue;
		const { takesOver, because } = contest(test, tests.get(holder.id)!, holder.label);
		reasons.set(method.id, because);
		if (takesOver) holder = method;
	}
	const naive = accuracyOf(tests.get('naive')!);
	const trials = METHODS.map(({ id, label }): MethodTrial => {
		const test = tests.get(id);
		const accuracy = test ? accuracyOf(test) : null;
		const because = reasons.get(id) ?? 'the method that others must beat';
		const againstNaive = accuracy && naive.rmse > 0 ? accuracy.rmse / naive.rmse - 1 : null;
		return { id, label, accuracy, againstNaive, isChosen: id === holder.id, because };
	});
	return { trials, tests };
}

/** Rule 4, in words. */
function contest(
	challenger: BackTest,
	holder: BackTest,
	holderLabel: string
): { readonly takesOver: boolean; readonly because: string } {
	const change = (part: (errors: BackTest['errors']) => BackTest['errors']) => {
		const before = rootMeanSquare(part(holder.errors).flat());
		return before === 0 ? 0 : rootMeanSquare(part(challenger.errors).flat()) / before - 1;
	};
	const half = Math.floor(holder.errors.length / 2);
	const whole = change((errors) => errors);
	const against = `error ${changeWords(whole)} “${holderLabel}”`;
	if (whole > -LEAST_GAIN) return { takesOver: false, because: against };
	if (change((errors) => errors.slice(0, half)) >= 0)
		return { takesOver: false, because: `${against}, but not in the older half` };
	if (change((errors) => errors.slice(half)) >= 0)
		return { takesOver: false, because: `${against}, but not in the newer half` };
	return { takesOver: true, because: `${against}, in both halves` };
}

function changeWords(change: number): string {
	const percent = Math.abs(change * 100).toFixed(1);
	if (percent === '0.0') return 'as large as with';
	return `${percent} % ${change < 0 ? 'below' : 'above'}`;
}

function atLeastNought(forecast: Forecaster): Forecaster {
	return (values, steps) => forecast(values, steps).map((value) => Math.max(0, value));
}

/** Half the width of the interval at each step, rule 6. */
function reachesOf(errors: BackTest['errors']): readonly number[] {
	let widest = 0;
	return errors[0]!.map((_, step) => {
		widest = Math.max(widest, Z_80 * rootMeanSquare(errors.map((row) => row[step]!)));
		return widest;
	});
}

/** How often the interval of the other origins would have held. */
function insideOf(errors: BackTest['errors']): { count: number; of: number } {
	let count = 0;
	for (const [i, row] of errors.entries()) {
		const reaches = reachesOf(errors.toSpliced(i, 1));
		count += row.filter((error, step) => Math.abs(error) <= reaches[step]!).length;
	}
	return { count, of: errors.length * errors[0]!.length };
}

function meanOfFirst(values: readonly number[]): number {
	return values.slice(0, MEAN_WEEKS).reduce((sum, value) => sum + value, 0) / MEAN_WEEKS;
}

function expected(value: number, reach: number | null): Expected {
	if (reach === null) return { value, interval: null };
	return { value, interval: { low: Math.max(0, value - reach), high: value + reach } };
}

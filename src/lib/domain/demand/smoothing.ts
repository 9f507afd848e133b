import { mean } from '../stats/summary.ts';

/**
 * Exponential smoothing of a series of equal periods: simple, with a trend (Holt 1957), with a season
 * (Winters 1960, additive or multiplicative). The recursions and the starts are those of `HoltWinters` in R:
 * 1. Simple: the first level is the first value.
 * 2. Trend: level and trend start from the second value and its difference to the first.
 * 3. Season: the first two seasons are decomposed by a centred moving average; the season starts from its
 *    figure, level and trend from the straight line through its trend. The second season on is forecast.
 */

/** Weights from 0 to 1 of the newest value in level, trend and season; null leaves that part out. */
export interface Weights {
	readonly level: number;
	readonly trend: number | null;
	readonly season: number | null;
}

export type SeasonKind = 'additive' | 'multiplicative';

/** Where a recursion begins. */
export interface SmoothingStart {
	readonly level: number;
	readonly trend: number;
	/** One entry per period of the season, empty without a season. */
	readonly season: readonly number[];
	/** Index of the first value that is forecast. */
	readonly from: number;
}

/** A series run through a recursion. */
export interface Smoothed {
	readonly weights: Weights;
	/** Index of the first value that was forecast. */
	readonly from: number;
	/** One-step forecasts of the values from `from` on. */
	readonly fitted: readonly number[];
	/** Levels after each value from `from` on. */
	readonly levels: readonly number[];
	/** Sum of the squared one-step errors. */
	readonly sumOfSquares: number;
	readonly level: number;
	/** 0 without a trend. */
	readonly trend: number;
	/** The season to come, its next period first; empty without a season. */
	readonly season: readonly number[];
	/** Forecasts of the next `steps` values. */
	readonly ahead: (steps: number) => number[];
}

/** Last value carried on. @throws RangeError for an empty series */
export function naiveAhead(values: readonly number[], steps: number): number[] {
	need(values, 1, 'a naive forecast');
	return Array.from({ length: steps }, () => values.at(-1)!);
}

/** The values of one season ago. @throws RangeError for less than a season */
export function seasonalNaiveAhead(
	values: readonly number[],
	period: number,
	steps: number
): number[] {
	need(values, period, 'a seasonal naive forecast');
	const season = values.slice(values.length - period);
	return Array.from({ length: steps }, (_, i) => season[i % period]!);
}

/** Simple exponential smoothing. @throws RangeError for fewer than two values */
export function simpleSmoothing(values: readonly number[], level: number): Smoothed {
	return smoothed(values, { level, trend: null, season: null }, startOf(values, 'simple'));
}

/** Smoothing of level and trend. @throws RangeError for fewer than three values */
export function trendSmoothing(
	values: readonly number[],
	level: number,
	trend: number,
	start: SmoothingStart = startOf(values, 'trend')
): Smoothed {
	return smoothed(values, { level, trend, season: null }, start);
}

/**
 * Smoothing with a season; without a trend where `trend` is null.
 * @throws RangeError for fewer than two seasons, or for a multiplicative season of values that reach 0
 */
export function seasonSmoothing(
	values: readonly number[],
	period: number,
	kind: SeasonKind,
	weights: Weights
): Smoothed {
	return smoothed(values, weights, seasonStart(values, period, kind), kind);
}

/** The start of a recursion without a season, rules 1 and 2. */
function startOf(values: readonly number[], what: 'simple' | 'trend'): SmoothingStart {
	need(values, what === 'simple' ? 2 : 3, `smoothing, ${what},`);
	const [first, second] = values as [number, number];
	if (what === 'simple') return { level: first, trend: 0, season: [], from: 1 };
	return { level: second, trend: second - first, season: [], from: 2 };
}

/** The start of a recursion with a season, rule 3. */
function seasonStart(values: readonly number[], period: number, kind: SeasonKind): SmoothingStart {
	need(values, 2 * period, 'smoothing with a season');
	const { trend, figure } = decompose(values.slice(0, 2 * period), period, kind);
	const { intercept, slope } = lineThrough(trend.filter((value) => value !== null));
	return { level: intercept, trend: slope, season: figure, from: period };
}

function smoothed(
	values: readonly number[],
	weights: Weights,
	start: SmoothingStart,
	kind: SeasonKind = 'additive'
): Smoothed {
	const isProduct = start.season.length > 0 && kind === 'multiplicative';
	const none = isProduct ? 1 : 0;
	const season = [...start.season];
	const fitted: number[] = [];
	const levels: number[] = [];
	let { level } = start;
	let trend = weights.trend === null ? 0 : start.trend;
	let sumOfSquares = 0;
	for (let i = start.from; i < values.length; i += 1) {
		const value = values[i]!;
		const at = season.length === 0 ? 0 : (i - start.from) % season.length;
		const swing = season[at] ?? none;
		const fit = isProduct ? (level + trend) * swing : level + trend + swing;
		const before = level;
		const bare = isProduct ? value / swing : value - swing;
		level = weights.level * bare + (1 - weights.level) * (before + trend);
		if (weights.trend !== null)
			trend = weights.trend * (level - before) + (1 - weights.trend) * trend;
		if (weights.season !== null && season.length > 0) {
			const found = isProduct ? value / level : value - level;
			season[at] = weights.season * found + (1 - weights.season) * swing;
		}
		fitted.push(fit);
		levels.push(level);
		sumOfSquares += (value - fit) ** 2;
	}
	const shift = season.length === 0 ? 0 : (values.length - start.from) % season.length;
	const next = [...season.slice(shift), ...season.slice(0, shift)];
	const ahead = (steps: number) =>
		Array.from({ length: steps }, (_, i) => {
			const swing = next.length === 0 ? none : next[i % next.length]!;
			const line = level + (i + 1) * trend;
			return isProduct ? line * swing : line + swing;
		});
	return {
		weights,
		from: start.from,
		fitted,
		levels,
		sumOfSquares,
		level,
		trend,
		season: next,
		ahead
	};
}

/**
 * Classical decomposition, as `decompose` in R: a centred moving average over one season, and the mean
 * deviation from it by period of the season, normalised to a mean of 0 (additive) or 1 (multiplicative).
 * @throws RangeError for fewer than two seasons, or for a multiplicative season of values that reach 0
 */
export function decompose(
	values: readonly number[],
	period: number,
	kind: SeasonKind
): { readonly trend: readonly (number | null)[]; readonly figure: readonly number[] } {
	need(values, 2 * period, 'a decomposition');
	if (kind === 'multiplicative' && values.some((value) => value <= 0)) {
		throw new RangeError('a multiplicative season needs values above 0');
	}
	const trend = values.map((_, i) => centredMean(values, i, period));
	const raw = Array.from({ length: period }, (_, at) => {
		const swings: number[] = [];
		for (let i = at; i < values.length; i += period) {
			const middle = trend[i] ?? null;
			if (middle === null) continue;
			swings.push(kind === 'additive' ? values[i]! - middle : values[i]! / middle);
		}
		return mean(swings);
	});
	const centre = mean(raw);
	const figure = raw.map((swing) => (kind === 'additive' ? swing - centre : swing / centre));
	return { trend, figure };
}

/** Mean over one season round an index, both ends halved when the season is even; null at the edges. */
function centredMean(values: readonly number[], i: number, period: number): number | null {
	const reach = Math.floor(period / 2);
	if (i < reach || i + reach >= values.length) return null;
	let sum = 0;
	for (let k = -reach; k <= reach; k += 1) {
		const isHalf = period % 2 === 0 && Math.abs(k) === reach;
		sum += values[i + k]! * (isHalf ? 0.5 : 1);
	}
	return sum / period;
}

/** Least squares through values at 1, 2, 3 and so on. */
function lineThrough(values: readonly number[]): { intercept: number; slope: number } {
	const middle = (values.length + 1) / 2;
	const centre = mean(values);
	let across = 0;
	let along = 0;
	for (const [i, value] of values.entries()) {
		across += (i + 1 - middle) * (value - centre);
		along += (i + 1 - middle) ** 2;
	}
	const slope = along === 0 ? 0 : across / along;
	return { intercept: centre - slope * middle, slope };
}

/** Simple smoothing with the weight of the least squared one-step error. */
export function fitSimple(values: readonly number[]): Smoothed {
	const best = leastIn(1, ([level]) => simpleSmoothing(values, level!).sumOfSquares);
	return simpleSmoothing(values, best[0]!);
}

/** Trend smoothing with the weights of the least squared one-step error. */
export function fitTrend(values: readonly number[]): Smoothed {
	const best = leastIn(2, ([level, trend]) => trendSmoothing(values, level!, trend!).sumOfSquares);
	return trendSmoothing(values, best[0]!, best[1]!);
}

/** Seasonal smoothing with trend, with the weights of the least squared one-step error. */
export function fitSeason(values: readonly number[], period: number, kind: SeasonKind): Smoothed {
	const start = seasonStart(values, period, kind);
	const run = ([level, trend, season]: readonly number[]) =>
		smoothed(values, { level: level!, trend: trend!, season: season! }, start, kind);
	return run(leastIn(3, (weights) => run(weights).sumOfSquares));
}

/** Where the search begins in each weight. */
const COARSE = [0.05, 0.3, 0.6, 0.95];
/** Where it stops: at this step, or after so many rounds along a valley that hardly falls. */
const FINEST_STEP = 1e-4;
const MOST_ROUNDS = 60;
/** What counts as lower, as a part of the least so far. */
const LEAST_FALL = 1e-8;

/**
 * The least of a function of weights from 0 to 1, by a coarse grid and then steps along each weight that
 * are halved when none improves. The same call gives the same answer; a second, distant minimum that the
 * grid misses is not found.
 */
export function leastIn(weights: number, of: (at: readonly number[]) => number): readonly number[] {
	let grid: number[][] = [[]];
	for (let i = 0; i < weights; i += 1) grid = grid.flatMap((at) => COARSE.map((w) => [...at, w]));
	let best = grid[0]!;
	let least = Number.POSITIVE_INFINITY;
	const better = (at: number[]): boolean => {
		const found = of(at);
		if (!(found < least * (1 - LEAST_FALL))) return false;
		[best, least] = [at, found];
		return true;
	};
	for (const at of grid) better(at);
	let step = 0.15;
	for (let round = 0; round < MOST_ROUNDS && step > FINEST_STEP; round += 1) {
		const moves = best.flatMap((w, i) =>
			[w + step, w - step].map((to) => best.with(i, Math.min(1, Math.max(0, to))))
		);
		if (!moves.map(better).includes(true)) step /= 2;
	}
	return best;
}

function need(values: readonly number[], least: number, what: string): void {
	if (values.length < least) {
		throw new RangeError(`${what} needs at least ${least} values, found ${values.length}`);
	}
}

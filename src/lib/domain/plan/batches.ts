import type { Roaster } from './problem.ts';

/** Batches on one roaster: `count` of `chargeG` each, the first `plusOne` of them a gram heavier. */
export interface Run {
	readonly roaster: Roaster;
	readonly count: number;
	readonly chargeG: number;
	readonly plusOne: number;
}

/** Batches of one need on the roasters that share it. */
export interface BatchSplit {
	readonly runs: readonly Run[];
	/** Grams in the batches together. */
	readonly plannedG: number;
	/** Roaster minutes of the batches together, without setups. */
	readonly minutes: number;
}

/** The charge of a run's batch, counted from 0, in grams. */
export function chargeOf(run: Run, index: number): number {
	return run.chargeG + (index < run.plusOne ? 1 : 0);
}

/** So many batches on each roaster. */
export type Counts = readonly (readonly [Roaster, number])[];

/** Splits over two roasters looked at for one need beyond this take more roaster minutes than these. */
const MOST_SPLITS = 24;

/**
 * The ways to roast a mass of green coffee in batches within the charge limits, fewest roaster minutes
 * first: on one roaster, or shared by two. Each way is as few batches as hold the mass, all filled to
 * the same share of the span between smallest and largest charge, so as even as they can be. Where no
 * way holds the whole mass, those that hold most of it are given; none when it is below every smallest
 * charge.
 */
export function splitsOf(greenG: number, roasters: readonly Roaster[]): readonly BatchSplit[] {
	const covers = coversOf(greenG, roasters);
	const whole = covers.filter((counts) => smallestG(counts) <= greenG);
	const ways = whole.length > 0 ? whole : fullest(covers.map(withoutOne));
	return ways
		.map((counts) => splitFor(greenG, counts))
		.sort((a, b) => a.minutes - b.minutes || batchCount(a) - batchCount(b))
		.filter((split, i) => i < MOST_SPLITS || split.runs.length === 1);
}

/**
 * The smallest change of a mass, in signed grams, after which batches can hold it exactly; 0 when they
 * can already, null without roasters.
 */
export function nearestChangeG(greenG: number, roasters: readonly Roaster[]): number | null {
	const covers = coversOf(greenG, roasters);
	if (covers.length === 0) return null;
	const upG = Math.max(0, Math.min(...covers.map(smallestG)) - greenG);
	const downG = greenG - Math.max(...covers.map((counts) => largestG(withoutOne(counts))));
	return upG <= downG || downG === greenG ? upG : -downG;
}

/** As few batches as can hold the mass when full, on each roaster and on each two. */
function coversOf(greenG: number, roasters: readonly Roaster[]): readonly Counts[] {
	if (greenG <= 0) return [];
	const alone: Counts[] = roasters.map((roaster) => [
		[roaster, Math.ceil(greenG / roaster.maxChargeG)]
	]);
	return [...alone, ...pairs(roasters).flatMap(([a, b]) => sharedCovers(greenG, a, b))];
}

function sharedCovers(greenG: number, a: Roaster, b: Roaster): readonly Counts[] {
	const mostOnA = Math.ceil(greenG / a.maxChargeG) - 1;
	return Array.from({ length: mostOnA }, (_, i) => [
		[a, i + 1],
		[b, Math.ceil((greenG - (i + 1) * a.maxChargeG) / b.maxChargeG)]
	]);
}

/** A cover less one batch of its last roaster: never enough to hold the mass, so all batches are full. */
function withoutOne(counts: Counts): Counts {
	return counts
		.map(([roaster, count], i) => [roaster, i === counts.length - 1 ? count - 1 : count] as const)
		.filter(([, count]) => count > 0);
}

function fullest(ways: readonly Counts[]): readonly Counts[] {
	const mostG = Math.max(0, ...ways.map(largestG));
	return ways.filter((counts) => counts.length > 0 && largestG(counts) === mostG);
}

/** The mass in so many batches on each roaster, filled to the same share; full where they can't hold it. */
export function splitFor(greenG: number, counts: Counts): BatchSplit {
	const leastG = smallestG(counts);
	const mostG = largestG(counts);
	const plannedG = Math.min(greenG, mostG);
	const fill = mostG > leastG ? (plannedG - leastG) / (mostG - leastG) : 1;
	const minutes = total(counts, (roaster) => roaster.cycleMin);
	return { runs: fillRuns(counts, fill, plannedG), plannedG, minutes };
}

/** Fills every batch to the same share; the grams lost to rounding go one each to the first batches. */
function fillRuns(counts: Counts, fill: number, plannedG: number): readonly Run[] {
	const floorG = (roaster: Roaster) =>
		roaster.minChargeG + Math.floor(fill * (roaster.maxChargeG - roaster.minChargeG));
	let overG = plannedG - total(counts, floorG);
	return counts.map(([roaster, count]) => {
		const plusOne = floorG(roaster) < roaster.maxChargeG ? Math.min(count, overG) : 0;
		overG -= plusOne;
		return { roaster, count, chargeG: floorG(roaster), plusOne };
	});
}

function smallestG(counts: Counts): number {
	return total(counts, (roaster) => roaster.minChargeG);
}

function largestG(counts: Counts): number {
	return total(counts, (roaster) => roaster.maxChargeG);
}

function total(counts: Counts, of: (roaster: Roaster) => number): number {
	return counts.reduce((sum, [roaster, count]) => sum + count * of(roaster), 0);
}

function batchCount(split: BatchSplit): number {
	return split.runs.reduce((sum, run) => sum + run.count, 0);
}

function pairs<T>(items: readonly T[]): readonly (readonly [T, T])[] {
	return items.flatMap((a, i) => items.slice(i + 1).map((b) => [a, b] as const));
}

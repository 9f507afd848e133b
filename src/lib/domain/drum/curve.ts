import type { RoastLog } from '../curve/log.ts';
import { evenGrid, presentPoints, resampleLinear, type Points } from '../curve/resample.ts';
import { savgolFilter } from '../curve/smooth.ts';
import type { DrumSettings } from './settings.ts';

/** The bean curve between charge and drop on a 1 s grid; NaN where the log has no value. */
export interface DrumCurve {
	/** Seconds from charge. */
	readonly timeS: Float64Array;
	readonly beanC: Float64Array;
	readonly smoothC: Float64Array;
	readonly rorCMin: Float64Array;
	/** Rows with a bean temperature, seconds from charge. */
	readonly rows: Points;
	readonly rowStepS: number;
	/** Stretches without a bean temperature that are too long to bridge, seconds from charge. */
	readonly gaps: readonly (readonly [fromS: number, toS: number])[];
}

/** Places either side of the middle of a window so many seconds wide on a 1 s grid. */
export function halfWindow(windowS: number): number {
	return Math.round(windowS / 2);
}

/** The bean curve from `chargeS` to `endS` of the log's own time, counted from charge. */
export function drumCurve(
	log: RoastLog,
	chargeS: number,
	endS: number,
	settings: DrumSettings
): DrumCurve {
	const all = presentPoints(log.timeS, log.channels.beanC ?? []);
	const rows = rowsBetween(all, chargeS, endS);
	const timeS = evenGrid(0, endS - chargeS, 1);
	const beanC = resampleLinear(
		all.x.map((x) => x - chargeS),
		all.y,
		timeS
	);
	const rowStepS = medianStep(rows.x);
	const gaps = gapsOf(rows.x, endS - chargeS, Math.max(settings.longestGapS, 2.5 * rowStepS));
	for (const [fromS, toS] of gaps) {
		for (let t = Math.floor(fromS) + 1; t < toS && t < beanC.length; t++) beanC[t] = NaN;
	}
	const points = 2 * halfWindow(settings.smoothingWindowS) + 1;
	return {
		timeS,
		beanC,
		smoothC: savgolFilter(beanC, { points, order: 2 }),
		rorCMin: rateOfRise(beanC, settings.rorWindowS),
		rows,
		rowStepS,
		gaps
	};
}

/**
 * Slope of the least-squares parabola over the window, C/min, of temperatures 1 s apart. NaN in the
 * first and last half window and wherever the window has a missing value (D3).
 *
 * Source: Savitzky and Golay, Anal. Chem. 36 (1964) 1627; exact for a parabola.
 */
export function rateOfRise(temperatureC: ArrayLike<number>, windowS: number): Float64Array {
	const half = halfWindow(windowS);
	const filter = { points: 2 * half + 1, order: 2, derivative: 1, step: 1 / 60 };
	const result = savgolFilter(temperatureC, filter);
	const count = result.length;
	return result.map((slope, i) => (i < half || i >= count - half ? NaN : slope));
}

/** The rows inside a span of the log's time, counted from its start. */
function rowsBetween(all: Points, firstS: number, lastS: number): Points {
	const from = all.x.findIndex((x) => x >= firstS);
	const after = all.x.findIndex((x) => x > lastS);
	const to = after < 0 ? all.x.length : after;
	if (from < 0 || from >= to) return { x: new Float64Array(0), y: new Float64Array(0) };
	return { x: all.x.slice(from, to).map((x) => x - firstS), y: all.y.slice(from, to) };
}

/** The middle one of the distances between positions; NaN with fewer than two. */
function medianStep(x: Float64Array): number {
	const steps = x.slice(1).map((value, i) => value - x[i]!);
	return steps.sort()[steps.length >> 1] ?? NaN;
}

function gapsOf(x: Float64Array, endS: number, longestS: number): (readonly [number, number])[] {
	const edges = [0, ...x, endS];
	const gaps: (readonly [number, number])[] = [];
	for (let i = 1; i < edges.length; i++) {
		if (edges[i]! - edges[i - 1]! > longestS) gaps.push([edges[i - 1]!, edges[i]!]);
	}
	return gaps;
}

/** A setting as it stood at each time: the last value at or before it; NaN before the first. */
export function resampleHold(points: Points, at: ArrayLike<number>): Float64Array {
	const result = new Float64Array(at.length).fill(NaN);
	let next = 0;
	for (let i = 0; i < at.length; i++) {
		while (next < points.x.length && points.x[next]! <= at[i]!) next++;
		if (next > 0) result[i] = points.y[next - 1]!;
	}
	return result;
}

/**
 * Standard deviation of the scatter of evenly spaced rows about a smooth curve, from their second
 * differences (whose variance is six times that of white noise). NaN with fewer than 20 of them.
 */
export function scatterC(rows: Points, fromS: number): number {
	let sum = 0;
	let count = 0;
	for (let i = 1; i < rows.x.length - 1; i++) {
		if (rows.x[i - 1]! < fromS) continue;
		const before = rows.x[i]! - rows.x[i - 1]!;
		const after = rows.x[i + 1]! - rows.x[i]!;
		if (Math.abs(after - before) > 0.05 * before) continue;
		sum += (rows.y[i - 1]! - 2 * rows.y[i]! + rows.y[i + 1]!) ** 2;
		count++;
	}
	return count < 20 ? NaN : Math.sqrt(sum / count / 6);
}

/** The scatter of the rate of rise that a scatter of the rows causes, C/min. */
export function rorNoise(scatter: number, rowStepS: number, windowS: number): number {
	const each = Math.floor(halfWindow(windowS) / rowStepS);
	let squares = 0;
	for (let k = -each; k <= each; k++) squares += (k * rowStepS) ** 2;
	return (60 * scatter) / Math.sqrt(squares);
}

/**
 * A log's channels on one grid, a value a second from charge to drop.
 */
import type { RoastLog } from '../curve/log.ts';
import { evenGrid, presentPoints, resampleLinear } from '../curve/resample.ts';

/** Seconds between the places of the grid. Code that walks the grid counts on it being one. */
export const GRID_STEP_S = 1;

/** Samples closer than this are averaged onto the grid; wider ones are joined by straight lines. */
const AVERAGE_BELOW_S = 0.75;

/** When the roast ends: the drop mark, else the last sample. NaN for an empty log. */
export function dropTimeS(log: RoastLog): number {
	const last = log.timeS.at(-1) ?? NaN;
	const mark = log.marks.find((candidate) => candidate.name === 'drop');
	return mark ? Math.min(mark.timeS, last) : last;
}

/** The log without its rows after the drop, when the air no longer comes from a roast. */
export function untilDrop(log: RoastLog): RoastLog {
	const dropS = dropTimeS(log);
	const after = log.timeS.findIndex((seconds) => seconds > dropS);
	if (after < 0) return log;
	const channels = Object.fromEntries(
		Object.entries(log.channels).map(([name, values]) => [name, values.subarray(0, after)])
	);
	return { ...log, timeS: log.timeS.subarray(0, after), channels };
}

/** The grid of a log: whole seconds from charge, or from the first sample when it comes later. */
export function gridOf(log: RoastLog): Float64Array {
	const first = Math.max(0, Math.ceil(log.timeS[0] ?? NaN));
	return evenGrid(first, Math.floor(dropTimeS(log)), GRID_STEP_S);
}

/**
 * One channel on the grid. Missing values are bridged by straight lines; before the first and after
 * the last present value that value is held. Null when no value is present.
 */
export function onGrid(
	timeS: Float64Array,
	values: ArrayLike<number>,
	grid: Float64Array
): Float64Array | null {
	if (liesOn(grid, timeS, values)) return new Float64Array(values);
	const present = presentPoints(timeS, values);
	if (present.x.length === 0) return null;
	const stepS = (present.x.at(-1)! - present.x[0]!) / Math.max(1, present.x.length - 1);
	const result =
		stepS < AVERAGE_BELOW_S
			? averagesAround(present.x, present.y, grid)
			: resampleLinear(present.x, present.y, grid);
	for (let i = 0; i < grid.length && grid[i]! < present.x[0]!; i++) result[i] = present.y[0]!;
	for (let i = grid.length - 1; i >= 0 && grid[i]! > present.x.at(-1)!; i--) {
		result[i] = present.y.at(-1)!;
	}
	return result;
}

/** Whether a log has one row at each place of the grid, none elsewhere, and a value in every row. */
function liesOn(grid: Float64Array, timeS: Float64Array, values: ArrayLike<number>): boolean {
	if (timeS.length !== grid.length) return false;
	for (let i = 0; i < grid.length; i++) {
		if (timeS[i] !== grid[i] || !Number.isFinite(values[i])) return false;
	}
	return true;
}

/** Mean of the samples within half a grid step; the straight line where there is none. */
function averagesAround(x: Float64Array, y: Float64Array, grid: Float64Array): Float64Array {
	const result = resampleLinear(x, y, grid);
	let first = 0;
	for (let i = 0; i < grid.length; i++) {
		while (first < x.length && x[first]! < grid[i]! - GRID_STEP_S / 2 - 1e-9) first++;
		let sum = 0;
		let count = 0;
		for (let j = first; j < x.length && x[j]! <= grid[i]! + GRID_STEP_S / 2 + 1e-9; j++) {
			sum += y[j]!;
			count++;
		}
		if (count > 0) result[i] = sum / count;
	}
	return result;
}

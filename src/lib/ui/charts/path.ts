/**
 * Paths of SVG from columns of numbers. Coordinates are rounded to a tenth of a pixel: a drawn path is a
 * quarter of the text that an unrounded one would be, and nobody can see the difference.
 */

/** A value's place in pixels. */
export type Place = (value: number) => number;

const round = (px: number) => Math.round(px * 10) / 10;

/** A line through the finite points; a missing value (NaN) leaves a gap. */
export function linePath(xs: readonly number[], ys: readonly number[], x: Place, y: Place): string {
	let path = '';
	let isDrawing = false;
	for (let i = 0; i < xs.length; i++) {
		const value = ys[i]!;
		if (Number.isFinite(value)) {
			path += `${isDrawing ? 'L' : 'M'}${round(x(xs[i]!))},${round(y(value))}`;
			isDrawing = true;
		} else {
			isDrawing = false;
		}
	}
	return path;
}

/** A line that holds each value until the next: settings of gas or air. */
export function stepPath(xs: readonly number[], ys: readonly number[], x: Place, y: Place): string {
	let path = '';
	let last: number | null = null;
	for (let i = 0; i < xs.length; i++) {
		const value = ys[i]!;
		const isEnd = i === xs.length - 1;
		if (!Number.isFinite(value) || (value === last && !isEnd)) continue;
		path += last === null ? `M${round(x(xs[i]!))},${round(y(value))}` : `H${round(x(xs[i]!))}`;
		if (last !== null && value !== last) path += `V${round(y(value))}`;
		last = value;
	}
	return path;
}

/** The closed area between two columns, over the points where both are finite. */
export function areaPath(
	xs: readonly number[],
	lower: readonly number[],
	upper: readonly number[],
	x: Place,
	y: Place
): string {
	const at = xs
		.map((_, i) => i)
		.filter((i) => Number.isFinite(lower[i]) && Number.isFinite(upper[i]));
	if (at.length < 2) return '';
	const point = (i: number, ys: readonly number[]) => `${round(x(xs[i]!))},${round(y(ys[i]!))}`;
	const there = at.map((i) => point(i, upper));
	const back = at.reverse().map((i) => point(i, lower));
	return `M${there.join('L')}L${back.join('L')}Z`;
}

/** Index of the number in rising `xs` that lies nearest to `x`; 0 for an empty list. */
export function nearestIndex(xs: readonly number[], x: number): number {
	let low = 0;
	let high = xs.length - 1;
	while (high - low > 1) {
		const middle = (low + high) >> 1;
		if (xs[middle]! <= x) low = middle;
		else high = middle;
	}
	if (high <= 0) return 0;
	return x - xs[low]! <= xs[high]! - x ? low : high;
}

/** Largest finite number, or `otherwise` where there is none. */
export function largest(values: readonly number[], otherwise = 0): number {
	let top = Number.NEGATIVE_INFINITY;
	for (const value of values) if (value > top && Number.isFinite(value)) top = value;
	return top === Number.NEGATIVE_INFINITY ? otherwise : top;
}

/** Round marks of a time axis from 0 to `endS`, no closer than `gapPx`, whole minutes or half. */
export function timeTicks(endS: number, widthPx: number, gapPx = 44): number[] {
	const stepS =
		[30, 60, 120, 180, 300, 600, 1200].find((s) => (s / endS) * widthPx >= gapPx) ?? 3600;
	const ticks: number[] = [];
	for (let t = 0; t <= endS + 1e-6; t += stepS) ticks.push(t);
	return ticks;
}

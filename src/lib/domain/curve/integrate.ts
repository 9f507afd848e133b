/** Areas under a curve by straight lines between its points, in units of x times y. */

/** Area from the first point to each point; starts at 0. A missing value makes the rest NaN. */
export function cumulativeTrapezoid(x: ArrayLike<number>, y: ArrayLike<number>): Float64Array {
	if (x.length !== y.length) throw new RangeError(`${x.length} positions but ${y.length} values`);
	const area = new Float64Array(x.length);
	for (let i = 1; i < x.length; i++) {
		area[i] = area[i - 1]! + ((x[i]! - x[i - 1]!) * (y[i]! + y[i - 1]!)) / 2;
	}
	return area;
}

/** Area under all points; 0 for fewer than two. */
export function trapezoid(x: ArrayLike<number>, y: ArrayLike<number>): number {
	return cumulativeTrapezoid(x, y).at(-1) ?? 0;
}

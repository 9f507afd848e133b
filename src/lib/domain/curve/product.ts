/**
 * Sum of products of `weights` with the values from place `first` on; throws nothing, so the values must
 * reach that far. Four sums run side by side, since a single one would wait for itself at every step.
 */
export function productAt(weights: Float64Array, values: Float64Array, first: number): number {
	const count = weights.length;
	let a = 0;
	let b = 0;
	let c = 0;
	let d = 0;
	let i = 0;
	for (; i + 3 < count; i += 4) {
		a += weights[i]! * values[first + i]!;
		b += weights[i + 1]! * values[first + i + 1]!;
		c += weights[i + 2]! * values[first + i + 2]!;
		d += weights[i + 3]! * values[first + i + 3]!;
	}
	for (; i < count; i++) a += weights[i]! * values[first + i]!;
	return a + b + (c + d);
}

/**
 * The same for weights that are mirrored around their middle, given from the middle outwards, laid with
 * their middle on place `centre`.
 */
export function mirroredProductAt(
	half: Float64Array,
	values: Float64Array,
	centre: number
): number {
	let a = half[0]! * values[centre]!;
	let b = 0;
	let k = 1;
	for (; k + 1 < half.length; k += 2) {
		a += half[k]! * (values[centre - k]! + values[centre + k]!);
		b += half[k + 1]! * (values[centre - k - 1]! + values[centre + k + 1]!);
	}
	if (k < half.length) a += half[k]! * (values[centre - k]! + values[centre + k]!);
	return a + b;
}

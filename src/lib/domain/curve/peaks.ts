/**
 * Peaks of a series: where it is higher than on both sides, how far each stands out, and how wide it
 * is. The series' ends are no peaks. Missing values (NaN) are never inside a peak.
 */

export interface Peak {
	/** Place of the highest value; the lower middle of a plateau of even length. */
	readonly index: number;
	readonly height: number;
	/** Height above the higher of the two lowest points that part it from a higher peak. */
	readonly prominence: number;
	/** Where the curve crosses `widthHeight` on either side, in fractional places. */
	readonly left: number;
	readonly right: number;
	/** `right - left`, in places. */
	readonly width: number;
	/** The height at which the width is taken. */
	readonly widthHeight: number;
}

export interface PeakOptions {
	/** Peaks that stand out less are left out. */
	readonly leastProminence?: number;
	/** Share of the prominence, from the top, at which the width is taken; half unless given. */
	readonly widthAt?: number;
}

/** All peaks in order of place. */
export function findPeaks(values: ArrayLike<number>, options: PeakOptions = {}): Peak[] {
	const { leastProminence = 0, widthAt = 0.5 } = options;
	const peaks: Peak[] = [];
	for (const index of peakPlaces(values)) {
		const height = values[index]!;
		const leftBase = lowestBefore(values, index, -1);
		const rightBase = lowestBefore(values, index, 1);
		const prominence = height - Math.max(values[leftBase]!, values[rightBase]!);
		if (prominence < leastProminence) continue;
		const widthHeight = height - prominence * widthAt;
		const left = crossing(values, index, leftBase, widthHeight);
		const right = crossing(values, index, rightBase, widthHeight);
		peaks.push({ index, height, prominence, left, right, width: right - left, widthHeight });
	}
	return peaks;
}

function peakPlaces(values: ArrayLike<number>): number[] {
	const places: number[] = [];
	for (let i = 1; i < values.length - 1; i++) {
		if (!(values[i]! > values[i - 1]!)) continue;
		let end = i;
		while (end < values.length - 1 && values[end + 1] === values[i]) end++;
		if (end < values.length - 1 && values[end + 1]! < values[i]!) places.push((i + end) >> 1);
		i = end;
	}
	return places;
}

/** Place of the lowest value between the peak and the next higher value in a direction. */
function lowestBefore(values: ArrayLike<number>, peak: number, direction: 1 | -1): number {
	let lowest = peak;
	for (let i = peak; i >= 0 && i < values.length && values[i]! <= values[peak]!; i += direction) {
		if (values[i]! < values[lowest]!) lowest = i;
	}
	return lowest;
}

function crossing(values: ArrayLike<number>, peak: number, base: number, height: number): number {
	const direction = base < peak ? -1 : 1;
	let i = peak;
	while (i !== base && values[i]! > height) i += direction;
	const value = values[i]!;
	if (!(value < height)) return i;
	return i - (direction * (height - value)) / (values[i - direction]! - value);
}

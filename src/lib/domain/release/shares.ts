/** Which part of the water left when. */
import type { SampleReading } from './reading.ts';

type Shares = SampleReading['shares'];
type Bounds = SampleReading['shareBoundsS'];

/** Bean temperatures that stand for the crack's span where none is found, C (common practice, no
 * source). */
export const CRACK_SPAN_C = { from: 190, to: 205 } as const;

/**
 * Ends of the early, middle and around shares, s. `around` runs from crack onset to end, else over the
 * span by temperature, else over the last quarter but the last twentieth of the roast; early is the
 * first half of the time before it.
 */
export function shareBounds(
	timeS: Float64Array,
	crack: { readonly onsetS: number | null; readonly endS: number | null },
	temperatureC: Float64Array | null
): Bounds {
	const first = timeS[0]!;
	const last = timeS.at(-1)!;
	let from = crack.onsetS;
	let to = crack.endS;
	if (from === null || to === null) {
		from = firstAtOrAbove(timeS, temperatureC, CRACK_SPAN_C.from) ?? first + 0.75 * (last - first);
		to = firstAtOrAbove(timeS, temperatureC, CRACK_SPAN_C.to) ?? last;
	}
	const middle = Math.min(Math.max(from, first), last);
	const around = Math.min(Math.max(to, middle), last);
	return { early: first + (middle - first) / 2, middle, around };
}

function firstAtOrAbove(
	timeS: Float64Array,
	temperatureC: Float64Array | null,
	levelC: number
): number | null {
	const at = temperatureC?.findIndex((value) => value >= levelC) ?? -1;
	return at < 0 ? null : timeS[at]!;
}

/**
 * Shares of the water that left up to each bound, from the cumulative release on the grid. They lie
 * from 0 to 1 and sum to 1. Throws when nothing was released, which a reading has ruled out before.
 */
export function sharesOf(timeS: Float64Array, cumulative: Float64Array, bounds: Bounds): Shares {
	const at = (seconds: number) => valueAt(timeS, cumulative, seconds);
	const marks = [0, at(bounds.early), at(bounds.middle), at(bounds.around), cumulative.at(-1)!];
	const parts = [1, 2, 3, 4].map((i) => Math.max(0, marks[i]! - marks[i - 1]!));
	const total = parts.reduce((sum, part) => sum + part, 0);
	if (!(total > 0)) throw new RangeError(`released water sums to ${total}`);
	const [early, middle, around] = parts.map((part) => part / total);
	return {
		early: early!,
		middle: middle!,
		around: around!,
		after: Math.max(0, 1 - early! - middle! - around!)
	};
}

/** A grid series between its places by straight lines, held at its ends. */
export function valueAt(timeS: Float64Array, values: ArrayLike<number>, seconds: number): number {
	const place = Math.max(0, Math.min(timeS.length - 1, seconds - timeS[0]!));
	const left = Math.min(Math.floor(place), Math.max(0, timeS.length - 2));
	const share = place - left;
	return share === 0 ? values[left]! : values[left]! + share * (values[left + 1]! - values[left]!);
}

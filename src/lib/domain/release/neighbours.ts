/**
 * The most similar lots that were ever roasted: an exact search, every lot looked at.
 *
 * Rules:
 * 1. Nearest is by the distance of `whitening.ts`; of two as near, the earlier in the library comes first.
 * 2. Similar, never the same: on simulated roasts another roast of a lot was often not among its ten
 *    nearest of 5,000. The words say how many pairs of lots are further apart than this one, no more.
 */
import { bad, good, type Outcome } from '../quantity/problem.ts';
import { FINGERPRINT_POINTS, type Fingerprint } from './fingerprint.ts';
import { placeInto, type Whitening } from './whitening.ts';

/** Coordinates summed before a lot that is already too far is given up. */
const BLOCK = 8;
/** Pairs of the library that the scale of likeness is taken from. */
const SCALE_PAIRS = 4000;
/** Steps of that scale. */
const SCALE_STEPS = 400;

/** Fingerprints made ready for the search. Indexes are those of the list it was packed from. */
export interface Library {
	readonly whitening: Whitening;
	/** A point of 128 after the other, of the placed fingerprints only. */
	readonly points: Float32Array;
	/** Index in the list of each point. */
	readonly indexes: Int32Array;
	/** Distances between pairs of lots, rising in even steps of the share of pairs that are closer. */
	readonly scale: Float64Array;
}

/** Packs fingerprints. Those that can't be placed (another axis, no total) are left out of the search. */
export function packLibrary(whitening: Whitening, fingerprints: readonly Fingerprint[]): Library {
	const points = new Float32Array(fingerprints.length * FINGERPRINT_POINTS);
	const indexes = new Int32Array(fingerprints.length);
	let placed = 0;
	fingerprints.forEach((fingerprint, index) => {
		if (!placeInto(whitening, fingerprint, points, placed * FINGERPRINT_POINTS)) return;
		indexes[placed++] = index;
	});
	const kept = points.slice(0, placed * FINGERPRINT_POINTS);
	return { whitening, points: kept, indexes: indexes.slice(0, placed), scale: scaleOf(kept) };
}

/** Quantiles of the distance between pairs, the pairs spread evenly over the library. */
function scaleOf(points: Float32Array): Float64Array {
	const count = points.length / FINGERPRINT_POINTS;
	const distances: number[] = [];
	for (let pair = 0; count > 1 && pair < SCALE_PAIRS; pair++) {
		const first = pair % count;
		// Steps by the golden section reach every distance in the list before they repeat.
		const step = 1 + Math.floor((count - 1) * ((pair * 0.6180339887498949) % 1));
		distances.push(distanceBetween(points, first, (first + step) % count));
	}
	distances.sort((a, b) => a - b);
	return Float64Array.from({ length: SCALE_STEPS + 1 }, (_, i) => {
		return distances[Math.round((i / SCALE_STEPS) * (distances.length - 1))] ?? NaN;
	});
}

function distanceBetween(points: Float32Array, first: number, second: number): number {
	let sum = 0;
	for (let i = 0; i < FINGERPRINT_POINTS; i++) {
		const apart =
			points[first * FINGERPRINT_POINTS + i]! - points[second * FINGERPRINT_POINTS + i]!;
		sum += apart * apart;
	}
	return Math.sqrt(sum);
}

/** Room for the answer of a search, made once and used again; nearest first. */
export interface Hits {
	readonly index: Int32Array;
	/** Squares of the distances. */
	readonly squared: Float64Array;
	count: number;
}

/** Room for `most` neighbours. */
export function roomFor(most: number): Hits {
	if (!Number.isInteger(most) || most < 1) {
		throw new RangeError(`${most} neighbours were asked for; expected a whole number from 1`);
	}
	return { index: new Int32Array(most), squared: new Float64Array(most), count: 0 };
}

/** Whether the lot at an index of the list may be an answer. */
export type Wanted = (index: number) => boolean;

/**
 * Fills `hits` with the lots nearest to a point of `placeInto`. Exact; takes no memory. `wanted` is asked
 * only about lots that are near enough.
 */
export function searchInto(
	hits: Hits,
	query: Float32Array,
	library: Library,
	wanted?: Wanted
): void {
	const { points, indexes } = library;
	const most = hits.index.length;
	hits.count = 0;
	let limit = Infinity;
	for (let row = 0; row < indexes.length; row++) {
		const squared = squaredWithin(limit, query, points, row * FINGERPRINT_POINTS);
		if (squared >= limit) continue;
		const index = indexes[row]!;
		if (wanted !== undefined && !wanted(index)) continue;
		insert(hits, index, squared);
		if (hits.count === most) limit = hits.squared[most - 1]!;
	}
}

/** Squared distance of a point to the one at `offset`, or any part of it that is at least `limit`. */
function squaredWithin(
	limit: number,
	query: Float32Array,
	points: Float32Array,
	offset: number
): number {
	let sum = 0;
	for (let i = 0; i < FINGERPRINT_POINTS; i += BLOCK) {
		for (let j = i; j < i + BLOCK; j++) {
			const apart = query[j]! - points[offset + j]!;
			sum += apart * apart;
		}
		if (sum >= limit) break;
	}
	return sum;
}

/** Puts a hit in its place behind those as near; the last falls out of a full list. */
function insert(hits: Hits, index: number, squared: number): void {
	const most = hits.index.length;
	let place = hits.count < most ? hits.count++ : most - 1;
	for (; place > 0 && hits.squared[place - 1]! > squared; place--) {
		hits.squared[place] = hits.squared[place - 1]!;
		hits.index[place] = hits.index[place - 1]!;
	}
	hits.squared[place] = squared;
	hits.index[place] = index;
}

export type LikenessWord = 'very similar' | 'similar' | 'somewhat similar' | 'unlike';

/** Shares of pairs of lots that are further apart, from which each word is used (rule 2). */
const WORDS: readonly (readonly [LikenessWord, number])[] = [
	['very similar', 0.99],
	['similar', 0.95],
	['somewhat similar', 0.8]
];

export interface Neighbour {
	/** In the list that the library was packed from. */
	readonly index: number;
	/** In units of the whitening; small is near. */
	readonly distance: number;
	/** Share of pairs of lots of the library that are further apart, 0 to 1. */
	readonly closerThan: number;
	readonly word: LikenessWord;
}

/**
 * The `most` lots of the library nearest to a fingerprint, nearest first; fewer when fewer are wanted.
 * The fingerprint itself is found too if it is in the library: leave it out by `wanted`.
 * @returns a problem when the fingerprint can't be compared with the library
 */
export function nearest(
	fingerprint: Fingerprint,
	library: Library,
	most: number,
	wanted?: Wanted
): Outcome<Neighbour[]> {
	const query = new Float32Array(FINGERPRINT_POINTS);
	if (!placeInto(library.whitening, fingerprint, query)) {
		return bad({ path: 'fingerprint', message: whyNot(fingerprint, library.whitening) });
	}
	const hits = roomFor(most);
	searchInto(hits, query, library, wanted);
	return good(
		Array.from({ length: hits.count }, (_, i) => {
			const distance = Math.sqrt(hits.squared[i]!);
			const closerThan = shareFurtherApart(library.scale, distance);
			return { index: hits.index[i]!, distance, closerThan, word: likenessWord(closerThan) };
		})
	);
}

function whyNot(fingerprint: Fingerprint, { axis, method }: Whitening): string {
	if (fingerprint.method !== method) {
		return `The fingerprint is of method ${fingerprint.method}; expected ${method}: read the sample again.`;
	}
	if (fingerprint.axis !== axis) {
		return `The sample was logged by ${fingerprint.axis} temperature; expected ${axis} temperature like the other lots.`;
	}
	return 'The water released for a kilogram is not known; expected the air flow and the charge, like for the other lots.';
}

/** Share of pairs that are further apart than this, between the steps of the scale; NaN without pairs. */
function shareFurtherApart(scale: Float64Array, distance: number): number {
	if (Number.isNaN(scale[0])) return NaN;
	const above = scale.findIndex((step) => step > distance);
	if (above < 0) return 0;
	if (above === 0) return 1;
	const below = scale[above - 1]!;
	const place = above - 1 + (distance - below) / (scale[above]! - below);
	return 1 - place / (scale.length - 1);
}

/** In words; `unlike` too where there is nothing to compare with. */
export function likenessWord(closerThan: number): LikenessWord {
	return WORDS.find(([, from]) => closerThan >= from)?.[0] ?? 'unlike';
}

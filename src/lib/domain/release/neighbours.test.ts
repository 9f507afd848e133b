import { beforeAll, describe, expect, it } from 'vitest';
import { kindPurity, madeLibrary, type MadeRoast } from '#support/lotLibrary.ts';
import { FINGERPRINT_POINTS, type Fingerprint } from './fingerprint.ts';
import { likenessWord, nearest, packLibrary, roomFor, type Library } from './neighbours.ts';
import type { Outcome } from '../quantity/problem.ts';
import { placeInto, whiteningOf, type Whitening } from './whitening.ts';

// Simulated lots, each roasted with what differs from roast to roast; made once.
let roasts: MadeRoast[];
let fingerprints: Fingerprint[];
let repeats: Fingerprint[][];
let whitening: Whitening;
let library: Library;

beforeAll(() => {
	const held = { seeds: 'held back', profiles: 'usual' } as const;
	roasts = madeLibrary({ ...held, lots: LOTS }).flat();
	fingerprints = roasts.map(({ fingerprint }) => fingerprint);
	repeats = madeLibrary({ ...held, lots: 12, roastsPerLot: 3, name: 'repeats' }).map((lot) =>
		lot.map(({ fingerprint }) => fingerprint)
	);
	whitening = value(whiteningOf(fingerprints, repeats, 'bean'));
	library = packLibrary(whitening, fingerprints);
});

function value<T>(outcome: Outcome<T>): T {
	if (!outcome.ok) throw new Error(outcome.problems[0]?.message);
	return outcome.value;
}

function message(outcome: Outcome<unknown>): string {
	return outcome.ok ? '' : (outcome.problems[0]?.message ?? '');
}

const LOTS = 180;

/** Points of fingerprints, one after the other. */
const pointsOf = (map: Whitening) =>
	fingerprints.map((one) => {
		const point = new Float32Array(FINGERPRINT_POINTS);
		placeInto(map, one, point);
		return point;
	});

/** All distances reckoned whole and sorted. */
function bruteForce(
	points: readonly Float32Array[],
	query: number,
	most: number,
	wanted: (index: number) => boolean
) {
	const from = points[query]!;
	return points
		.map((point, index) => ({ index, distance: Math.hypot(...point.map((v, i) => v - from[i]!)) }))
		.filter(({ index }) => wanted(index))
		.sort((a, b) => a.distance - b.distance || a.index - b.index)
		.slice(0, most);
}

function purity(searched: Library, of = fingerprints): number {
	return kindPurity(roasts, (query) =>
		value(nearest(of[query]!, searched, 10, (index) => index !== query)).map(({ index }) => index)
	);
}

describe('the nearest lots', () => {
	it('are those of a search that reckons every distance whole, with a filter too (rule 1)', () => {
		const points = pointsOf(whitening);
		for (let query = 0; query < LOTS; query += 18) {
			for (const wanted of [() => true, (i: number) => i % 5 === 2, (i: number) => i !== query]) {
				const found = value(nearest(fingerprints[query]!, library, 10, wanted));
				const expected = bruteForce(points, query, 10, wanted);
				expect(found.map(({ index }) => index)).toEqual(expected.map(({ index }) => index));
				found.forEach(({ distance }, i) => expect(distance).toBeCloseTo(expected[i]!.distance, 4));
			}
		}
	});

	it('come in the order of the library where they are as near, and fewer when fewer are wanted', () => {
		const doubled = packLibrary(whitening, [...fingerprints, ...fingerprints]);
		const found = value(nearest(fingerprints[3]!, doubled, 2));
		expect(found.map(({ index }) => index)).toEqual([3, 3 + LOTS]);
		expect(value(nearest(fingerprints[3]!, library, 10, (i) => i < 4))).toHaveLength(4);
		expect(value(nearest(fingerprints[3]!, library, 10, () => false))).toEqual([]);
		expect(() => roomFor(0)).toThrow('0 neighbours');
	});

	it('are mostly of the kind of the lot (85 in 100 of ten), with and without repeats', () => {
		expect(whitening).toMatchObject({ from: 'repeats', scale: 'g/kg', repeatFreedom: 24 });

		expect(purity(library)).toBeGreaterThanOrEqual(0.85);
		const without = value(whiteningOf(fingerprints, repeats.slice(0, 9), 'bean'));
		expect(without).toMatchObject({ from: 'library', repeatFreedom: 0 });
		expect(purity(packLibrary(without, fingerprints))).toBeGreaterThanOrEqual(0.85);
	});

	it('are compared as shares of the water where totals are not known, less surely', () => {
		const bare = fingerprints.map((one) => ({
			...one,
			features: { ...one.features, totalGPerKg: null }
		}));
		const shares = value(whiteningOf(bare, repeats, 'bean'));
		expect(shares.scale).toBe('share');
		const found = purity(packLibrary(shares, bare), bare);
		expect(found).toBeGreaterThan(0.75);
		expect(found).toBeLessThan(purity(library));
	});

	it('have another roast of the lot among them far more often than by chance', () => {
		const other = packLibrary(whitening, [
			...fingerprints,
			...repeats.map(([, second]) => second!)
		]);
		const found = repeats.filter(([first], lot) =>
			value(nearest(first!, other, 10)).some(({ index }) => index === LOTS + lot)
		);
		expect(found.length / repeats.length).toBeGreaterThan(0.3);
	});
});

describe('how similar', () => {
	it('says which share of pairs of lots is further apart', () => {
		const found = value(nearest(fingerprints[0]!, library, LOTS));
		expect(found[0]).toMatchObject({ index: 0, distance: 0, closerThan: 1, word: 'very similar' });
		const shares = found.map(({ closerThan }) => closerThan);
		expect(shares).toEqual([...shares].sort((a, b) => b - a));
		// Over all queries the share is even by its making: its mean is one half.
		const mean = fingerprints
			.flatMap((one) => value(nearest(one, library, LOTS)).slice(1))
			.reduce((sum, { closerThan }, _, all) => sum + closerThan / all.length, 0);
		expect(mean).toBeGreaterThan(0.47);
		expect(mean).toBeLessThan(0.53);
	});

	it('is put in words', () => {
		expect([1, 0.99, 0.98, 0.9, 0.5, NaN].map(likenessWord)).toEqual([
			'very similar',
			'very similar',
			'similar',
			'somewhat similar',
			'unlike',
			'unlike'
		]);
	});
});

describe('what can’t be compared', () => {
	it('is left out of the library, and said of a query', () => {
		const one = fingerprints[0]!;
		const exhaust = { ...one, axis: 'exhaust' } as const;
		const bare = { ...one, features: { ...one.features, totalGPerKg: null } };
		const older = { ...one, method: 'fingerprint-0' };
		const packed = packLibrary(whitening, [exhaust, bare, older, one]);
		expect([...packed.indexes]).toEqual([3]);
		expect(message(nearest(exhaust, library, 10))).toContain('by exhaust temperature');
		expect(message(nearest(bare, library, 10))).toContain('expected the air flow and the charge');
		expect(message(nearest(older, library, 10))).toContain('fingerprint-0');
		expect(value(nearest(one, packed, 10))[0]).toMatchObject({ index: 3, word: 'unlike' });
	});

	it('leaves a whitening impossible with few lots, or with lots that are all the same', () => {
		expect(message(whiteningOf(fingerprints.slice(0, 19), [], 'bean'))).toContain(
			'19 sample roasts'
		);
		expect(message(whiteningOf(fingerprints, repeats, 'exhaust'))).toContain('0 sample roasts');
		const same = Array.from({ length: 20 }, () => fingerprints[0]!);
		expect(message(whiteningOf(same, [], 'bean'))).toContain('are the same');
		// Copies of a roast tell nothing about repeats.
		const copies = fingerprints.slice(0, 30).map((one) => [one, one]);
		expect(value(whiteningOf(fingerprints, copies, 'bean')).from).toBe('library');
	});
});

describe('the whitening', () => {
	it('brings the spreads that it was made from to one size, but for the ridge', () => {
		// Without repeats: the library's own spread S becomes S over S + ridge, 128 numbers between 0 and 1,
		// the first of them near 1, in falling order, and no two directions vary together.
		const own = value(whiteningOf(fingerprints, [], 'bean'));
		const points = pointsOf(own);
		const covariance = (i: number, j: number) =>
			points.reduce((sum, point) => sum + point[i]! * point[j]!, 0) / (points.length - 1);
		const variances = Array.from({ length: FINGERPRINT_POINTS }, (_, i) => covariance(i, i));
		expect(variances[0]).toBeGreaterThan(0.9);
		for (let i = 1; i < FINGERPRINT_POINTS; i++) {
			expect(variances[i]!).toBeLessThanOrEqual(variances[i - 1]! * (1 + 1e-6) + 1e-9);
			expect(Math.abs(covariance(i, i - 1))).toBeLessThan(1e-5);
		}
		expect(variances[0]).toBeLessThan(1);
	});
});

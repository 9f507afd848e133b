import { describe, expect, it } from 'vitest';
import { FINGERPRINT_METHOD, FINGERPRINT_POINTS, type Fingerprint } from './fingerprint.ts';
import { nearest, packLibrary } from './neighbours.ts';
import { apartInRepeats, plainWhitening } from './plainWhitening.ts';
import { repeatabilityOf } from './repeatability.ts';

const repeatability = repeatabilityOf([], 'bean');

/** A flat curve, every point moved by so many spreads between two roasts of one lot. */
function moved(spreads: number): Fingerprint {
	const curve = repeatability.curve.map(({ sd }) => 8 + spreads * Math.SQRT2 * sd);
	const known = { knownFromC: 80, knownToC: 80 + FINGERPRINT_POINTS };
	const features = { totalGPerKg: null } as Fingerprint['features'];
	return { method: FINGERPRINT_METHOD, readingMethod: '', axis: 'bean', curve, ...known, features };
}

describe('curves of a small library', () => {
	it('are as far apart as two roasts of one lot at 1 (rule 1), without totals (rule 2)', () => {
		const library = packLibrary(plainWhitening(repeatability), [3, -1, 2].map(moved));
		const found = nearest(moved(0), library, 10);
		if (!found.ok) throw new Error(found.problems[0]!.message);
		expect(found.value.map(({ index }) => index)).toEqual([1, 2, 0]);
		expect(found.value.map(({ distance }) => apartInRepeats(distance))).toEqual([
			expect.closeTo(1, 5),
			expect.closeTo(2, 5),
			expect.closeTo(3, 5)
		]);
	});
});

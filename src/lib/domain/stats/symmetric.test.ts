import { describe, expect, it } from 'vitest';
import { choleskyFactor, solveLower, symmetricEigen } from './symmetric.ts';

describe('factors of symmetric matrices', () => {
	// The second-difference matrix, whose eigenvalues are 2 - 2 cos(k pi / (n + 1)) (textbook result,
	// from memory).
	const size = 9;
	const chain = new Float64Array(size * size);
	for (let i = 0; i < size; i++) {
		chain[i * size + i] = 2;
		if (i > 0) chain[i * size + i - 1] = chain[(i - 1) * size + i] = -1;
	}

	it('has the known eigenvalues, highest first', () => {
		const { values } = symmetricEigen(chain, size);
		values.forEach((value, i) => {
			const k = size - i;
			expect(value).toBeCloseTo(2 - 2 * Math.cos((k * Math.PI) / (size + 1)), 12);
		});
	});

	it('has vectors at right angles, of length 1, that the matrix only stretches', () => {
		const { values, vectors } = symmetricEigen(chain, size);
		const row = (i: number) => vectors.subarray(i * size, (i + 1) * size);
		const dot = (a: ArrayLike<number>, b: ArrayLike<number>) =>
			Array.from(a).reduce((sum, value, k) => sum + value * b[k]!, 0);
		for (let i = 0; i < size; i++) {
			for (let j = 0; j <= i; j++) expect(dot(row(i), row(j))).toBeCloseTo(i === j ? 1 : 0, 12);
			for (let r = 0; r < size; r++) {
				const stretched = dot(chain.subarray(r * size, (r + 1) * size), row(i));
				expect(stretched).toBeCloseTo(values[i]! * row(i)[r]!, 12);
			}
		}
	});

	it('factors and solves by hand: [[4, 2], [2, 5]] is [[2, 0], [1, 2]] times its transpose', () => {
		const lower = choleskyFactor(Float64Array.of(4, 2, 2, 5), 2);
		expect([...lower]).toEqual([2, 0, 1, 2]);
		expect([...solveLower(lower, 2, Float64Array.of(6, 7))]).toEqual([3, 2]);
	});

	it('refuses what it cannot factor', () => {
		expect(() => choleskyFactor(Float64Array.of(1, 2, 2, 1), 2)).toThrow('row 2');
		expect(() => symmetricEigen(new Float64Array(5), 2)).toThrow('2 x 2');
	});
});

/**
 * Factors of symmetric matrices, row by row in one array of `size` x `size`. Inputs are left as they are.
 */

/**
 * Lower triangle L with L times its transpose equal to the matrix (Cholesky). The upper triangle is 0.
 * @throws RangeError when the matrix is not positive definite
 */
export function choleskyFactor(matrix: Float64Array, size: number): Float64Array {
	requireSquare(matrix, size);
	const lower = new Float64Array(size * size);
	for (let i = 0; i < size; i++) {
		for (let j = 0; j <= i; j++) {
			let sum = matrix[i * size + j]!;
			for (let k = 0; k < j; k++) sum -= lower[i * size + k]! * lower[j * size + k]!;
			if (i !== j) lower[i * size + j] = sum / lower[j * size + j]!;
			else if (sum > 0) lower[i * size + i] = Math.sqrt(sum);
			else throw new RangeError(`the matrix is not positive definite at row ${i + 1}`);
		}
	}
	return lower;
}

/** Solves L x = right for the lower triangle of `choleskyFactor`, in place. */
export function solveLower(lower: Float64Array, size: number, right: Float64Array): Float64Array {
	for (let i = 0; i < size; i++) {
		let sum = right[i]!;
		for (let k = 0; k < i; k++) sum -= lower[i * size + k]! * right[k]!;
		right[i] = sum / lower[i * size + i]!;
	}
	return right;
}

/** Eigenvalues, highest first, and their vectors of length 1, a row each. */
export interface Eigen {
	readonly values: Float64Array;
	readonly vectors: Float64Array;
}

const MOST_SWEEPS = 50;

/** Eigenvalues and vectors by cyclic plane rotations (Jacobi 1846). Throws if they don't settle. */
export function symmetricEigen(matrix: Float64Array, size: number): Eigen {
	requireSquare(matrix, size);
	const work = Float64Array.from(matrix);
	const vectors = new Float64Array(size * size);
	for (let i = 0; i < size; i++) vectors[i * size + i] = 1;
	for (let sweep = 0; !isDiagonal(work, size); sweep++) {
		if (sweep === MOST_SWEEPS) throw new RangeError('the eigenvalues do not settle');
		for (let p = 0; p < size - 1; p++) {
			for (let q = p + 1; q < size; q++) rotate(work, vectors, size, p, q);
		}
	}
	const order = Array.from({ length: size }, (_, i) => i);
	const value = (i: number) => work[i * size + i]!;
	order.sort((a, b) => value(b) - value(a) || a - b);
	const sorted = new Float64Array(size * size);
	order.forEach((from, to) =>
		sorted.set(vectors.subarray(from * size, (from + 1) * size), to * size)
	);
	return { values: Float64Array.from(order, value), vectors: sorted };
}

function isDiagonal(work: Float64Array, size: number): boolean {
	let diagonal = 0;
	let beside = 0;
	for (let i = 0; i < size; i++) {
		diagonal += work[i * size + i]! ** 2;
		for (let j = 0; j < i; j++) beside += work[i * size + j]! ** 2;
	}
	return beside <= 1e-24 * diagonal;
}

/** One rotation that makes the entry at p, q nought; `vectors` has a vector a row. */
function rotate(
	work: Float64Array,
	vectors: Float64Array,
	size: number,
	p: number,
	q: number
): void {
	const entry = work[p * size + q]!;
	if (entry === 0) return;
	const theta = (work[q * size + q]! - work[p * size + p]!) / (2 * entry);
	const tangent = (theta < 0 ? -1 : 1) / (Math.abs(theta) + Math.sqrt(theta * theta + 1));
	const cosine = 1 / Math.sqrt(tangent * tangent + 1);
	const sine = tangent * cosine;
	const turn = (values: Float64Array, a: number, b: number) => {
		const left = values[a]!;
		const right = values[b]!;
		values[a] = cosine * left - sine * right;
		values[b] = sine * left + cosine * right;
	};
	for (let k = 0; k < size; k++) turn(work, k * size + p, k * size + q);
	for (let k = 0; k < size; k++) turn(work, p * size + k, q * size + k);
	for (let k = 0; k < size; k++) turn(vectors, p * size + k, q * size + k);
}

function requireSquare(matrix: Float64Array, size: number): void {
	if (matrix.length !== size * size) {
		throw new RangeError(`${matrix.length} entries are not ${size} x ${size}`);
	}
}

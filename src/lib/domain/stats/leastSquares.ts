/**
 * Least squares for a model that is not a straight line in its parameters, with what is known of the
 * parameters beforehand, and the standard errors of what was found.
 *
 * Source: Levenberg, Quart. Appl. Math. 2 (1944) 164; Marquardt, J. SIAM 11 (1963) 431 (from memory).
 */
import { choleskyFactor, solveLower } from './symmetric.ts';

export interface LeastSquaresProblem {
	/** Where the search starts. */
	readonly start: readonly number[];
	/** Residuals at some parameters, always as many. */
	readonly residuals: (parameters: readonly number[]) => Float64Array;
	/** What is known beforehand: a mean and a standard deviation in units of the residuals' own. */
	readonly known?: readonly { readonly mean: number; readonly sd: number }[];
}

export interface LeastSquaresFit {
	readonly parameters: readonly number[];
	/** Standard deviation of a residual, the parameters taken off the count. */
	readonly residualSd: number;
	readonly residuals: Float64Array;
	/** Of the parameters, row by row. */
	readonly covariance: Float64Array;
	readonly settled: boolean;
}

const MOST_STEPS = 60;
const DIFFERENCE = 1e-4;

/**
 * The parameters with the least sum of squares. With `known`, residuals are taken to scatter by `scatter`
 * and each parameter adds its squared distance from its mean in its standard deviations. `correlated` is
 * how many neighbouring residuals count as one (1 when they are independent); it widens the covariance.
 * @throws RangeError when there are fewer residuals than parameters
 */
export function leastSquares(
	problem: LeastSquaresProblem,
	scatter: number,
	correlated = 1
): LeastSquaresFit {
	const size = problem.start.length;
	let at = [...problem.start];
	let residuals = problem.residuals(at);
	if (residuals.length < size)
		throw new RangeError(`${residuals.length} residuals for ${size} parameters`);
	let cost = costOf(problem, at, residuals, scatter);
	let damping = 1e-2;
	let settled = false;
	for (let step = 0; step < MOST_STEPS && !settled; step++) {
		const { normal, right } = normalOf(problem, at, residuals, scatter);
		let improved = false;
		while (!improved && damping < 1e8) {
			const move = solveDamped(normal, right, size, damping);
			const tried = at.map((value, i) => value + move[i]!);
			const found = problem.residuals(tried);
			const triedCost = costOf(problem, tried, found, scatter);
			if (triedCost < cost) {
				improved = true;
				settled = cost - triedCost < 1e-7 * cost;
				[at, residuals, cost] = [tried, found, triedCost];
				damping = Math.max(1e-9, damping / 5);
			} else damping *= 5;
		}
		if (!improved) settled = true;
	}
	const freedom = Math.max(1, residuals.length - size);
	const residualSd = Math.sqrt(sumOfSquares(residuals) / freedom);
	const spread = Math.max(scatter, residualSd) * Math.sqrt(Math.max(1, correlated));
	const { normal } = normalOf(problem, at, residuals, spread);
	return { parameters: at, residualSd, residuals, covariance: inverse(normal, size), settled };
}

/** Standard errors: roots of a covariance's diagonal. */
export function standardErrors(covariance: Float64Array, size: number): number[] {
	return Array.from({ length: size }, (_, i) => Math.sqrt(covariance[i * size + i]!));
}

function sumOfSquares(values: Float64Array): number {
	return values.reduce((sum, value) => sum + value * value, 0);
}

function costOf(
	{ known = [] }: LeastSquaresProblem,
	at: readonly number[],
	residuals: Float64Array,
	scatter: number
): number {
	const cost = sumOfSquares(residuals) / (scatter * scatter);
	const total = known.reduce((sum, { mean, sd }, i) => sum + ((at[i]! - mean) / sd) ** 2, cost);
	return Number.isFinite(total) ? total : Infinity;
}

/** Half the slope and the curvature of the cost, the latter by Gauss and Newton. */
function normalOf(
	problem: LeastSquaresProblem,
	at: readonly number[],
	residuals: Float64Array,
	scatter: number
) {
	const size = at.length;
	const slopes = slopesOf(problem.residuals, at, residuals);
	const weight = 1 / (scatter * scatter);
	const normal = new Float64Array(size * size);
	const right = new Float64Array(size);
	for (let i = 0; i < size; i++) {
		for (let j = 0; j <= i; j++) {
			const sum = weight * dot(slopes[i]!, slopes[j]!);
			normal[i * size + j] = sum;
			normal[j * size + i] = sum;
		}
		right[i] = -weight * dot(slopes[i]!, residuals);
		const known = problem.known?.[i];
		if (!known) continue;
		const pull = 1 / (known.sd * known.sd);
		normal[i * size + i]! += pull;
		right[i]! -= pull * (at[i]! - known.mean);
	}
	return { normal, right };
}

/** How the residuals change with each parameter, by central differences. */
export function slopesOf(
	of: (parameters: readonly number[]) => Float64Array,
	at: readonly number[],
	middle: Float64Array
): Float64Array[] {
	return at.map((value, i) => {
		const step = DIFFERENCE * Math.max(1, Math.abs(value));
		const up = of(at.with(i, value + step));
		const down = of(at.with(i, value - step));
		return middle.map((_, k) => (up[k]! - down[k]!) / (2 * step));
	});
}

function dot(a: Float64Array, b: Float64Array): number {
	let sum = 0;
	for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
	return sum;
}

function solveDamped(
	normal: Float64Array,
	right: Float64Array,
	size: number,
	damping: number
): Float64Array {
	const damped = Float64Array.from(normal);
	for (let i = 0; i < size; i++) damped[i * size + i]! += damping * normal[i * size + i]! + 1e-12;
	return solve(damped, right, size);
}

/** Solves for a symmetric, positive definite matrix. */
function solve(matrix: Float64Array, right: Float64Array, size: number): Float64Array {
	const lower = choleskyFactor(matrix, size);
	const half = solveLower(lower, size, Float64Array.from(right));
	for (let i = size - 1; i >= 0; i--) {
		let sum = half[i]!;
		for (let k = i + 1; k < size; k++) sum -= lower[k * size + i]! * half[k]!;
		half[i] = sum / lower[i * size + i]!;
	}
	return half;
}

function inverse(matrix: Float64Array, size: number): Float64Array {
	const result = new Float64Array(size * size);
	for (let column = 0; column < size; column++) {
		const unit = new Float64Array(size);
		unit[column] = 1;
		const solved = solve(matrix, unit, size);
		for (let row = 0; row < size; row++) result[row * size + column] = solved[row]!;
	}
	return result;
}

/**
 * Logistic regression with a ridge: the coefficients that make counts of events most likely, less half of
 * each coefficient's square times its penalty (le Cessie and van Houwelingen, Applied Statistics 41 (1992)
 * 191; from memory). With no penalty it is the ordinary fit. Solved by Newton's method.
 */
import { choleskyFactor, solveLower } from './symmetric.ts';

/** Trials that share the same inputs. */
export interface LogisticRow {
	readonly inputs: readonly number[];
	readonly events: number;
	readonly trials: number;
}

export interface LogisticFit {
	readonly coefficients: readonly number[];
	/** From the inverse of the penalised information. */
	readonly standardErrors: readonly number[];
	/** -2 times the log-likelihood of the events trial by trial, without the penalty. */
	readonly deviance: number;
	readonly settled: boolean;
}

const MOST_STEPS = 60;
const SETTLED = 1e-10;

/**
 * @param rows at least one, all with as many inputs; an intercept is an input of ones
 * @param penalties one for each input, 0 or more
 * @throws RangeError when there are no rows, lengths differ, or an input can't be told from others and has
 * no penalty
 */
export function ridgeLogistic(
	rows: readonly LogisticRow[],
	penalties: readonly number[]
): LogisticFit {
	const size = penalties.length;
	if (rows.length === 0) throw new RangeError('a logistic fit needs rows');
	for (const { inputs } of rows)
		if (inputs.length !== size)
			throw new RangeError(`${inputs.length} inputs for ${size} penalties`);
	let at = new Float64Array(size);
	let goodness = penalised(rows, penalties, at);
	let settled = false;
	for (let step = 0; step < MOST_STEPS && !settled; step++) {
		const { gradient, lower } = slopes(rows, penalties, at);
		const move = solveTransposed(lower, size, solveLower(lower, size, gradient));
		let share = 1;
		let tried = moved(at, move, share);
		let found = penalised(rows, penalties, tried);
		while (found < goodness - 1e-12 && share > 1e-6) {
			share /= 2;
			tried = moved(at, move, share);
			found = penalised(rows, penalties, tried);
		}
		settled = move.every((by) => Math.abs(by) < SETTLED);
		at = tried;
		goodness = found;
	}
	const { lower } = slopes(rows, penalties, at);
	return {
		coefficients: [...at],
		standardErrors: inverseDiagonal(lower, size).map(Math.sqrt),
		deviance: -2 * logLikelihood(rows, at),
		settled
	};
}

/** The chance of an event at some inputs. */
export function logisticChance(coefficients: readonly number[], inputs: readonly number[]): number {
	return 1 / (1 + Math.exp(-coefficients.reduce((sum, c, i) => sum + c * inputs[i]!, 0)));
}

function linear(at: Float64Array, inputs: readonly number[]): number {
	let sum = 0;
	for (let i = 0; i < at.length; i++) sum += at[i]! * inputs[i]!;
	return sum;
}

function logLikelihood(rows: readonly LogisticRow[], at: Float64Array): number {
	let sum = 0;
	for (const { inputs, events, trials } of rows) {
		const x = linear(at, inputs);
		// log(1 + exp(x)) without overflow.
		sum += events * x - trials * (Math.max(0, x) + Math.log1p(Math.exp(-Math.abs(x))));
	}
	return sum;
}

function penalised(rows: readonly LogisticRow[], penalties: readonly number[], at: Float64Array) {
	return logLikelihood(rows, at) - penalties.reduce((sum, p, i) => sum + (p * at[i]! ** 2) / 2, 0);
}

function slopes(rows: readonly LogisticRow[], penalties: readonly number[], at: Float64Array) {
	const size = penalties.length;
	const gradient = Float64Array.from(penalties, (p, i) => -p * at[i]!);
	const information = new Float64Array(size * size);
	for (let i = 0; i < size; i++) information[i * size + i] = penalties[i]!;
	for (const { inputs, events, trials } of rows) {
		const chance = 1 / (1 + Math.exp(-linear(at, inputs)));
		const weight = trials * chance * (1 - chance);
		for (let i = 0; i < size; i++) {
			if (inputs[i] === 0) continue;
			gradient[i]! += inputs[i]! * (events - trials * chance);
			for (let j = 0; j < size; j++) information[i * size + j]! += weight * inputs[i]! * inputs[j]!;
		}
	}
	return { gradient, lower: choleskyFactor(information, size) };
}

function moved(at: Float64Array, move: Float64Array, share: number): Float64Array<ArrayBuffer> {
	return Float64Array.from(at, (value, i) => value + share * move[i]!);
}

/** Solves the transpose of L x = right, in place. */
function solveTransposed(lower: Float64Array, size: number, right: Float64Array): Float64Array {
	for (let i = size - 1; i >= 0; i--) {
		let sum = right[i]!;
		for (let k = i + 1; k < size; k++) sum -= lower[k * size + i]! * right[k]!;
		right[i] = sum / lower[i * size + i]!;
	}
	return right;
}

function inverseDiagonal(lower: Float64Array, size: number): number[] {
	return Array.from({ length: size }, (_, i) => {
		const unit = new Float64Array(size);
		unit[i] = 1;
		return solveLower(lower, size, unit).reduce((sum, value) => sum + value * value, 0);
	});
}

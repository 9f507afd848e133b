import { bad, good, type Outcome } from './problem.ts';

/**
 * Exact decimals as scaled integers. Prices are kept as E4 (ten-thousandths of the currency's major
 * unit) and exchange rates as E6 (millionths); a sum is worked out exactly as a ratio of big integers
 * and rounded once.
 */

/**
 * What happens to a tie. `half up` goes away from zero (2.5 -> 3, -2.5 -> -3), as invoices do;
 * `half even` goes to the even neighbour (2.5 -> 2, 3.5 -> 4).
 */
export type Rounding = 'half up' | 'half even';

/** An exact ratio of two integers; the denominator is positive. */
export interface Ratio {
	readonly num: bigint;
	readonly den: bigint;
}

/**
 * The ratio of two integers.
 * @throws RangeError when a number is not a safe integer or the denominator is zero
 */
export function ratio(num: number | bigint, den: number | bigint = 1n): Ratio {
	const n = toBig(num);
	const d = toBig(den);
	if (d === 0n) throw new RangeError(`ratio ${n}/0 has no value`);
	return d < 0n ? { num: -n, den: -d } : { num: n, den: d };
}

/** The product of ratios, exact. */
export function times(...factors: readonly Ratio[]): Ratio {
	let num = 1n;
	let den = 1n;
	for (const factor of factors) {
		num *= factor.num;
		den *= factor.den;
	}
	return { num, den };
}

/** The sum of ratios, exact. */
export function plus(...terms: readonly Ratio[]): Ratio {
	let sum: Ratio = { num: 0n, den: 1n };
	for (const term of terms) {
		sum = { num: sum.num * term.den + term.num * sum.den, den: sum.den * term.den };
	}
	return sum;
}

/**
 * A ratio rounded to a whole number.
 * @throws RangeError when the result is not a safe integer
 */
export function roundRatio(value: Ratio, rounding: Rounding = 'half up'): number {
	const { num, den } = value;
	const negative = num < 0n;
	const size = negative ? -num : num;
	const floor = size / den;
	const twiceRest = (size % den) * 2n;
	const up =
		twiceRest > den || (twiceRest === den && (rounding === 'half up' || floor % 2n === 1n));
	const rounded = up ? floor + 1n : floor;
	return safe(negative ? -rounded : rounded);
}

/**
 * The product of integers over a positive integer, rounded half up as `roundRatio` does, without big integers
 * where all stays exact without them: ten years of batches are costed by it.
 * @throws RangeError when a number is not a safe integer or the result is none
 */
export function roundProduct(factors: readonly number[], den: number): number {
	let num = 1;
	let isSafe = Number.isSafeInteger(den) && den > 0;
	for (const factor of factors) {
		num *= factor;
		isSafe &&= Number.isSafeInteger(factor) && Number.isSafeInteger(num);
	}
	if (!isSafe) return roundRatio(times(...factors.map((factor) => ratio(factor)), ratio(1, den)));
	const size = Math.abs(num);
	const rest = size % den;
	const rounded = (size - rest) / den + (rest >= den - rest ? 1 : 0);
	return num < 0 && rounded !== 0 ? -rounded : rounded;
}

/** `10 ** places` as a big integer. */
export function powerOfTen(places: number): bigint {
	return 10n ** BigInt(places);
}

/**
 * Decimal text to an integer of `10 ** -decimals` units: `parseScaled('2.35', 4, 'price')` is 23500.
 * Takes an optional sign, digits and one point; refuses grouping, exponents, decimal commas and more
 * decimals than can be kept, because each of them has been read wrongly by somebody.
 * @param path field named in the problem
 */
export function parseScaled(text: string, decimals: number, path: string): Outcome<number> {
	const found = text.trim();
	const parts = /^([+-]?)(\d+)(?:\.(\d+))?$/.exec(found);
	if (!parts) {
		const message = `found "${found}", expected a number with a point for decimals and no grouping, such as 1234.5`;
		return bad({ path, message });
	}
	const [, sign, whole = '', fraction = ''] = parts;
	if (fraction.length > decimals) {
		const most = decimals === 0 ? 'no decimals' : `at most ${decimals} decimals`;
		return bad({ path, message: `found "${found}", expected ${most}` });
	}
	const size = Number(whole + fraction.padEnd(decimals, '0'));
	if (!Number.isSafeInteger(size)) {
		return bad({ path, message: `found "${found}", which is too large to be kept exactly` });
	}
	return good(sign === '-' && size !== 0 ? -size : size);
}

/**
 * A scaled integer as text with grouping commas: `formatScaled(123456, 2)` is `1,234.56`.
 * @param shown decimals to show, rounded half up; all of them when left out
 */
export function formatScaled(value: number, decimals: number, shown = decimals): string {
	const places = Math.min(decimals, shown);
	const rounded = roundRatio(ratio(value, powerOfTen(decimals - places)));
	const digits = String(Math.abs(rounded)).padStart(places + 1, '0');
	const cut = digits.length - places;
	const whole = digits.slice(0, cut).replace(/\B(?=(\d{3})+$)/g, ',');
	const sign = rounded < 0 ? '-' : '';
	return places === 0 ? sign + whole : `${sign}${whole}.${digits.slice(cut)}`;
}

/** The text of a scaled integer with trailing zeros taken off, down to `least` decimals. */
export function formatTrimmed(value: number, decimals: number, least = 0): string {
	let shown = decimals;
	let rest = Math.abs(value);
	while (shown > least && rest % 10 === 0) {
		rest = rest / 10;
		shown -= 1;
	}
	return formatScaled(value, decimals, shown);
}

/** @throws RangeError when the value is not a safe integer; `what` names it. */
export function assertInteger(value: number, what: string): void {
	if (!Number.isSafeInteger(value)) {
		throw new RangeError(`${what} must be a safe integer, found ${value}`);
	}
}

function toBig(value: number | bigint): bigint {
	if (typeof value === 'bigint') return value;
	assertInteger(value, 'an exact amount');
	return BigInt(value);
}

function safe(value: bigint): number {
	const number = Number(value);
	if (!Number.isSafeInteger(number)) {
		throw new RangeError(`${value} is beyond the integers that can be kept exactly`);
	}
	return number;
}

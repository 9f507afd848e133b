/**
 * Continuous distributions that intervals are read off: normal, t, beta, gamma. Distribution functions
 * by the usual series and continued fractions (Abramowitz & Stegun 1964, 6.5 and 26.5, from memory);
 * quantiles by halving, which is slow next to Newton's way but can't miss. A few microseconds to some
 * tens each: for intervals on a page, not for loops over logs.
 */

const MOST_TERMS = 10_000;
/** Keeps a continued fraction from dividing by nought. */
const TINY = 1e-300;

/** Lanczos' coefficients for g = 7, nine terms (from memory; tested against the factorials). */
const LANCZOS = [
	0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313,
	-176.61502916214059, 12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6,
	1.5056327351493116e-7
] as const;

/** Natural logarithm of the gamma function of `x` > 0. */
export function logGamma(x: number): number {
	need(x > 0 && Number.isFinite(x), `the gamma function is asked above 0, found ${x}`);
	if (x < 0.5) return Math.log(Math.PI / Math.sin(Math.PI * x)) - logGamma(1 - x);
	const series = LANCZOS.reduce<number>((sum, c, i) => sum + (i === 0 ? c : c / (x + i - 1)), 0);
	const t = x + 6.5;
	return 0.5 * Math.log(2 * Math.PI) + (x - 0.5) * Math.log(t) - t + Math.log(series);
}

/** Chance that a standard normal value is at most `z`. */
export function normalCdf(z: number): number {
	const half = (z * z) / 2;
	return z < 0 ? 0.5 * gammaUpper(0.5, half) : 0.5 + 0.5 * gammaCdf(0.5, half);
}

/** Chance that a gamma value of this shape and rate 1 is at most `x`. */
export function gammaCdf(shape: number, x: number): number {
	needShape(shape);
	if (!(x > 0)) return 0;
	return x < shape + 1 ? gammaSeries(shape, x) : 1 - gammaFraction(shape, x);
}

function gammaUpper(shape: number, x: number): number {
	if (!(x > 0)) return 1;
	return x < shape + 1 ? 1 - gammaSeries(shape, x) : gammaFraction(shape, x);
}

/** The value that a gamma value of this shape and rate 1 stays below with chance `p`, 0 <= p < 1. */
export function gammaQuantile(p: number, shape: number): number {
	needShape(shape);
	need(p >= 0 && p < 1, `a chance is from 0 to below 1, found ${p}`);
	let above = shape + 1;
	while (gammaCdf(shape, above) < p) above *= 2;
	return whereRising((x) => gammaCdf(shape, x), p, above);
}

/** Chance that a beta value is at most `x`: the regularised incomplete beta function. */
export function betaCdf(x: number, a: number, b: number): number {
	needShape(a);
	needShape(b);
	if (!(x > 0)) return 0;
	if (x >= 1) return 1;
	const front = Math.exp(
		logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log1p(-x)
	);
	const low = x < (a + 1) / (a + b + 2);
	return low ? (front * betaFraction(x, a, b)) / a : 1 - (front * betaFraction(1 - x, b, a)) / b;
}

/** The value that a beta value stays below with chance `p`. */
export function betaQuantile(p: number, a: number, b: number): number {
	needShape(a);
	needShape(b);
	need(p >= 0 && p <= 1, `a chance is from 0 to 1, found ${p}`);
	return whereRising((x) => betaCdf(x, a, b), p, 1);
}

/** The value that Student's t with `df` degrees of freedom stays below with chance `p`, 0 < p < 1. */
export function tQuantile(p: number, df: number): number {
	needShape(df);
	need(p > 0 && p < 1, `a chance is between 0 and 1, found ${p}`);
	if (p < 0.5) return -tQuantile(1 - p, df);
	const tails = 2 * (1 - p);
	// df / (df + t^2) is beta; near t = 0 its complement keeps the digits.
	if (tails < 0.5) {
		const x = betaQuantile(tails, df / 2, 0.5);
		return Math.sqrt((df * (1 - x)) / x);
	}
	const y = betaQuantile(2 * p - 1, 0.5, df / 2);
	return Math.sqrt((df * y) / (1 - y));
}

function gammaSeries(shape: number, x: number): number {
	let term = 1 / shape;
	let sum = term;
	for (let n = 1; n < MOST_TERMS && term > sum * 1e-17; n += 1) {
		term *= x / (shape + n);
		sum += term;
	}
	return sum * Math.exp(shape * Math.log(x) - x - logGamma(shape));
}

function gammaFraction(shape: number, x: number): number {
	const value = fraction(x + 1 - shape, (n) => ({
		over: -n * (n - shape),
		plus: x + 2 * n + 1 - shape
	}));
	return Math.exp(shape * Math.log(x) - x - logGamma(shape)) / value;
}

function betaFraction(x: number, a: number, b: number): number {
	const value = fraction(1, (n) => {
		const m = Math.floor(n / 2);
		const over =
			n % 2 === 0
				? (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m))
				: (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
		return { over, plus: 1 };
	});
	return 1 / value;
}

/** first + over1 / (plus1 + over2 / (plus2 + ...)), by Lentz's method as Thompson and Barnett mend it. */
function fraction(
	first: number,
	part: (n: number) => { readonly over: number; readonly plus: number }
): number {
	let value = first === 0 ? TINY : first;
	let c = value;
	let d = 0;
	for (let n = 1; n < MOST_TERMS; n += 1) {
		const { over, plus } = part(n);
		d = 1 / (plus + over * d || TINY);
		c = plus + over / c || TINY;
		value *= c * d;
		if (Math.abs(c * d - 1) < 1e-16) break;
	}
	return value;
}

/** Where a function that rises from below `target` at 0 reaches it, between 0 and `above`. */
function whereRising(f: (x: number) => number, target: number, above: number): number {
	if (f(0) >= target) return 0;
	let low = 0;
	let high = above;
	for (;;) {
		const middle = (low + high) / 2;
		if (middle <= low || middle >= high) return middle;
		if (f(middle) < target) low = middle;
		else high = middle;
	}
}

function needShape(value: number): void {
	need(value > 0 && Number.isFinite(value), `a shape is above 0, found ${value}`);
}

function need(holds: boolean, message: string): void {
	if (!holds) throw new RangeError(message);
}

/**
 * Distributions of counts and intervals for shares. A probability mass function is an array whose entry
 * `k` belongs to the count `k` (from 0), long enough for what was asked; nothing is renormalised.
 */

/** Two-sided 95 % point of the standard normal distribution. */
export const Z_95 = 1.959963984540054;

/** A share with its interval. */
export interface ShareInterval {
	readonly share: number;
	readonly low: number;
	readonly high: number;
}

/**
 * Wilson's score interval for a share, without continuity correction (Wilson 1927).
 * @param z normal point of the level wanted
 * @throws RangeError unless 0 <= successes <= trials and trials > 0, both whole
 */
export function wilsonInterval(successes: number, trials: number, z = Z_95): ShareInterval {
	const whole = Number.isInteger(successes) && Number.isInteger(trials);
	if (!whole || successes < 0 || trials < 1 || successes > trials) {
		throw new RangeError(`${successes} of ${trials} is not a share`);
	}
	const share = successes / trials;
	const z2 = z * z;
	const centre = share + z2 / (2 * trials);
	const reach = z * Math.sqrt((share * (1 - share)) / trials + z2 / (4 * trials * trials));
	const scale = 1 + z2 / trials;
	return {
		share,
		low: successes === 0 ? 0 : (centre - reach) / scale,
		high: successes === trials ? 1 : (centre + reach) / scale
	};
}

/** Poisson probabilities of 0 to `most` with the given mean. */
export function poissonPmf(rate: number, most: number): number[] {
	if (!(rate >= 0 && rate < 700)) throw new RangeError(`a Poisson mean is 0 to 700, found ${rate}`);
	return chain(Math.exp(-rate), most, (k) => rate / k);
}

/** Probabilities of 0 to `trials` successes with chance `p` each. */
export function binomialPmf(trials: number, p: number): number[] {
	checkChance(p);
	if (p > 0.5) return binomialPmf(trials, 1 - p).reverse();
	const odds = p / (1 - p);
	return chain((1 - p) ** trials, trials, (k) => ((trials - k + 1) / k) * odds);
}

/** Probabilities of 0 to `most` failures before the first success. */
export function geometricPmf(p: number, most: number): number[] {
	checkChance(p);
	return chain(p, most, () => 1 - p);
}

/**
 * Probabilities of 0 to `most` failures before the first success when the chance of success is itself
 * drawn from Beta(a, b): P(k) = B(a + 1, b + k) / B(a, b). Mean b / (a - 1) for a > 1.
 */
export function betaGeometricPmf(a: number, b: number, most: number): number[] {
	if (!(a > 0 && b >= 0)) throw new RangeError(`Beta(${a}, ${b}) is not a distribution`);
	return chain(a / (a + b), most, (k) => (b + k - 1) / (a + b + k));
}

/** Builds a mass function from its first entry and the ratio of entry k to the one before. */
function chain(first: number, most: number, ratioTo: (k: number) => number): number[] {
	if (!Number.isInteger(most) || most < 0) {
		throw new RangeError(`counts go up to a whole number, found ${most}`);
	}
	const pmf = [first];
	let last = first;
	for (let k = 1; k <= most; k += 1) {
		last *= ratioTo(k);
		pmf.push(last);
	}
	return pmf;
}

function checkChance(p: number): void {
	if (!(p >= 0 && p <= 1)) throw new RangeError(`a chance is from 0 to 1, found ${p}`);
}

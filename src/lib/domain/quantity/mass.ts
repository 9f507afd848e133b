import {
	formatScaled,
	formatTrimmed,
	parseScaled,
	ratio,
	roundRatio,
	type Ratio
} from './decimal.ts';
import { good, type Outcome } from './problem.ts';

/**
 * Mass is integer grams. A pound is exactly 453.59237 g (International Yard and Pound, 1959; 0.45359237
 * kg in ISO/NIST tables), so pounds are a ratio until they are rounded.
 */

/** Grams in a pound, exact: 45,359,237 / 100,000. */
export const GRAMS_PER_POUND: Ratio = { num: 45_359_237n, den: 100_000n };

const POUND_KG = 0.45359237;

/** Kilograms as a number for charts and reckoning; not for money. */
export function kgFromG(massG: number): number {
	return massG / 1000;
}

/** Pounds as a number for charts and reckoning; not for money. */
export function lbFromG(massG: number): number {
	return massG / 1000 / POUND_KG;
}

/**
 * Grams of a whole number of thousandths of a pound (`152.5 lb` is 152500), rounded half up.
 * @throws RangeError when `massLbE3` is not a safe integer
 */
export function gFromLbE3(massLbE3: number): number {
	return roundRatio(ratio(BigInt(massLbE3) * GRAMS_PER_POUND.num, GRAMS_PER_POUND.den * 1000n));
}

/** Decimal text in kilograms to grams: `12.345` is 12345. Refuses more than three decimals. */
export function parseKg(text: string, path = 'mass'): Outcome<number> {
	return parseScaled(text, 3, path);
}

/** Decimal text in pounds, at most three decimals, to the nearest gram. */
export function parseLb(text: string, path = 'mass'): Outcome<number> {
	const massLbE3 = parseScaled(text, 3, path);
	return massLbE3.ok ? good(gFromLbE3(massLbE3.value)) : massLbE3;
}

/**
 * Grams as kilograms with the unit: `1,234.5 kg`. Zeros that say nothing are left off unless the number
 * of decimals is given.
 */
export function formatKg(massG: number, decimals?: number): string {
	return `${decimals === undefined ? formatTrimmed(massG, 3) : formatScaled(massG, 3, decimals)} kg`;
}

/**
 * Green bean equivalent of roasted coffee by the statistical factor of the International Coffee
 * Organization, 1.19. For statistics and declarations only: a real roast is costed by its weighed yield.
 */
export function greenEquivalentG(roastedG: number): number {
	return roundRatio(ratio(BigInt(roastedG) * 119n, 100n));
}

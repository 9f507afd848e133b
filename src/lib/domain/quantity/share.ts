import { assertInteger } from './decimal.ts';

/**
 * A whole number split by weights so that the parts sum to it, by largest remainder: each part is rounded
 * towards zero and the units left go one each to the largest remainders, ties to the earlier part. Exact for
 * every safe integer.
 * @param weights integers, none negative, at least one above zero
 * @throws RangeError when a number is not a safe integer, or the weights are not as said
 */
export function splitWhole(total: number, weights: readonly number[]): number[] {
	const all = weights.reduce((sum, weight) => sum + BigInt(checkedWeight(weight)), 0n);
	if (all === 0n)
		throw new RangeError('an amount can only be split by weights that sum above zero');
	const sign = total < 0 ? -1 : 1;
	const size = BigInt(Math.abs(total));
	const parts = weights.map((weight, index) => {
		const share = size * BigInt(weight);
		return { index, whole: share / all, rest: share % all };
	});
	const left = size - parts.reduce((given, part) => given + part.whole, 0n);
	const byRest = parts.toSorted((a, b) =>
		a.rest === b.rest ? a.index - b.index : a.rest > b.rest ? -1 : 1
	);
	for (const part of byRest.slice(0, Number(left))) part.whole += 1n;
	return parts.map((part) => (part.whole === 0n ? 0 : sign * Number(part.whole)));
}

function checkedWeight(weight: number): number {
	assertInteger(weight, 'a weight');
	if (weight < 0) throw new RangeError(`a weight can't be negative, found ${weight}`);
	return weight;
}

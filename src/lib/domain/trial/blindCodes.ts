/**
 * Codes for the cups of a blind cupping.
 *
 * 1. Three digits, drawn from the seed alone: the same seed and number of cups give the same codes.
 * 2. Codes of one table differ, and none is part of a name that is on the table (a lot 151 doesn't stand
 *    under 151, nor do others).
 * 3. Nothing about a coffee goes in but those names to avoid, so a code tells nothing of its coffee; whoever
 *    sorts the cups by code gets an order that chance made.
 */

const FIRST = 100;
const LAST = 999;
/** More coffees than this are no table that anybody can cup. */
export const MOST_CUPS = 40;

/**
 * One code a cup, in the order of the cups.
 * @param seed a whole number
 * @param names texts that a code must not be part of
 * @throws RangeError on more than MOST_CUPS, or where the names leave too few codes
 */
export function blindCodes(seed: number, cups: number, names: readonly string[]): string[] {
	if (!Number.isInteger(seed)) throw new RangeError(`a seed is a whole number, found ${seed}`);
	if (!(Number.isInteger(cups) && cups >= 0 && cups <= MOST_CUPS))
		throw new RangeError(`a table has 0 to ${MOST_CUPS} cups, found ${cups}`);
	const free = Array.from({ length: LAST - FIRST + 1 }, (_, i) => String(FIRST + i)).filter(
		(code) => !names.some((name) => name.includes(code))
	);
	if (free.length < cups)
		throw new RangeError(`the names leave ${free.length} codes of three digits`);
	return Array.from({ length: cups }, (_, draw) => {
		const [code] = free.splice(mixed(seed, draw) % free.length, 1);
		return code!;
	});
}

/** A 32-bit hash of a seed and a counter: multiply and shift until every bit has moved every other. */
function mixed(seed: number, draw: number): number {
	let h = (seed ^ Math.imul(draw + 1, 0x9e3779b1)) >>> 0;
	h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
	h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
	return (h ^ (h >>> 16)) >>> 0;
}

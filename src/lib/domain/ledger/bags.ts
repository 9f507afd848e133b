import { formatKg } from '../quantity/mass.ts';
import { bad, good, type Outcome, type Problem } from '../quantity/problem.ts';
import { splitWhole } from '../quantity/share.ts';
import type { InstantMs } from '../quantity/time.ts';

/**
 * The ledger of a lot by bag.
 *
 * 1. A receipt opens bags, numbered on from those of the lot; bags that were not weighed one by one
 *    have even shares of their delivery.
 * 2. The parts of a movement by bag sum to the movement.
 * 3. Where nobody names a bag, the bag that is open is taken first, then the others in the order of
 *    their numbers (common practice, no source). What is found is added to the open bag.
 * 4. No bag is below zero at any moment.
 */

/** A part of a movement. */
export interface BagPart {
	readonly bag: number;
	/** Signed grams. */
	readonly massG: number;
}

/** A part with its moment. */
export interface BagEntry extends BagPart {
	readonly at: InstantMs;
}

export interface BagStock {
	readonly bag: number;
	/** Grams it came with. */
	readonly receivedG: number;
	readonly onHandG: number;
}

/** What is in each bag, by number; a bag's receipt is its first entry. */
export function bagStocks(entries: readonly BagEntry[]): BagStock[] {
	const byBag = Map.groupBy(inTime(entries), (entry) => entry.bag);
	return [...byBag]
		.map(([bag, own]) => ({
			bag,
			receivedG: own[0]?.massG ?? 0,
			onHandG: own.reduce((sum, entry) => sum + entry.massG, 0)
		}))
		.sort((a, b) => a.bag - b.bag);
}

/** Grams of even bags in a delivery: as many as the usual bag goes into it, at least one. */
export function evenBags(massG: number, bagG: number): number[] {
	const bags = Math.max(1, Math.round(massG / bagG));
	return splitWhole(massG, Array<number>(bags).fill(1));
}

/**
 * Bags of a receipt (rule 1).
 * @param named bag numbers with their weights, as weighed; empty where they were not
 * @param known numbers of the bags that the lot has so far
 */
export function openBags(
	massG: number,
	bagG: number,
	named: readonly BagPart[],
	known: ReadonlySet<number>
): Outcome<readonly BagPart[]> {
	if (named.length === 0) {
		const last = Math.max(0, ...known);
		return good(evenBags(massG, bagG).map((part, i) => ({ bag: last + 1 + i, massG: part })));
	}
	const problems = partProblems(massG, named);
	for (const { bag } of named)
		if (known.has(bag)) problems.push(problem(`bag ${bag} of the lot was received before`));
	return problems.length > 0 ? bad(...problems) : good(named);
}

/**
 * The parts of a movement that is no receipt, by bag (rules 2 to 4).
 * @param at when it counts
 * @param massG signed grams of the movement
 * @param named parts as named; empty where nobody named any
 * @param looseG grams on hand in no bag (received before bags were kept), at their lowest from then on
 */
export function partsOf(
	at: InstantMs,
	massG: number,
	named: readonly BagPart[],
	entries: readonly BagEntry[],
	looseG: number
): Outcome<readonly BagPart[]> {
	const free = lowestFrom(entries, at);
	if (named.length === 0) return inOrder(massG, entries, free, looseG);
	const problems = partProblems(massG, named);
	for (const part of named) {
		const leftG = free.get(part.bag);
		if (leftG === undefined) problems.push(problem(`there is no bag ${part.bag} by then`));
		else if (leftG + part.massG < 0)
			problems.push(
				problem(`${formatKg(-part.massG)} is more than the ${formatKg(leftG)} in bag ${part.bag}`)
			);
	}
	return problems.length > 0 ? bad(...problems) : good(named);
}

function inOrder(
	massG: number,
	entries: readonly BagEntry[],
	free: ReadonlyMap<number, number>,
	looseG: number
): Outcome<readonly BagPart[]> {
	const bags = openFirst(entries, free);
	if (massG > 0) {
		const bag = bags[0] ?? Math.max(0, ...free.keys());
		return good(bag === 0 ? [] : [{ bag, massG }]);
	}
	const parts: BagPart[] = [];
	let wantedG = -massG;
	for (const bag of bags) {
		if (wantedG === 0) break;
		const takenG = Math.min(wantedG, free.get(bag) ?? 0);
		if (takenG > 0) parts.push({ bag, massG: -takenG });
		wantedG -= takenG;
	}
	if (wantedG <= looseG) return good(parts);
	const message = `${formatKg(-massG)} is more than the ${formatKg(-massG - wantedG + looseG)} that is free in the bags from then on`;
	return bad({ path: 'massG', message });
}

/** Bags with stock that is free, one that was begun before the whole ones (rule 3). */
function openFirst(entries: readonly BagEntry[], free: ReadonlyMap<number, number>): number[] {
	return bagStocks(entries)
		.filter(({ bag }) => (free.get(bag) ?? 0) > 0)
		.sort((a, b) => whole(a) - whole(b) || a.bag - b.bag)
		.map(({ bag }) => bag);
}

function whole({ onHandG, receivedG }: BagStock): number {
	return onHandG < receivedG ? 0 : 1;
}

/** The least each bag holds from an instant on: what can leave it then. Bags not yet here are left out. */
export function lowestFrom(entries: readonly BagEntry[], at: InstantMs): Map<number, number> {
	const stock = new Map<number, number>();
	const lowest = new Map<number, number>();
	for (const entry of inTime(entries)) {
		const nowG = (stock.get(entry.bag) ?? 0) + entry.massG;
		stock.set(entry.bag, nowG);
		const isBefore = entry.at <= at;
		if (isBefore) lowest.set(entry.bag, nowG);
		else if (lowest.has(entry.bag)) lowest.set(entry.bag, Math.min(lowest.get(entry.bag)!, nowG));
	}
	return lowest;
}

function inTime(entries: readonly BagEntry[]): BagEntry[] {
	return entries.toSorted((a, b) => a.at - b.at);
}

function partProblems(massG: number, named: readonly BagPart[]): Problem[] {
	const problems: Problem[] = [];
	const sumG = named.reduce((sum, part) => sum + part.massG, 0);
	if (sumG !== massG)
		problems.push(problem(`the bags sum to ${formatKg(sumG)}, expected ${formatKg(massG)}`));
	if (new Set(named.map(({ bag }) => bag)).size !== named.length)
		problems.push(problem('a bag stands twice'));
	return problems;
}

function problem(message: string): Problem {
	return { path: 'bags', message };
}

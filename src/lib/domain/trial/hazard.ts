import { LOT_KINDS, type LotKind } from '../lot/lot.ts';
import { logisticChance, ridgeLogistic, type LogisticRow } from '../stats/logistic.ts';
import { mean, standardDeviation } from '../stats/summary.ts';

/**
 * The chance that a lot's next test releases it, from what its sample said and how often it was tried
 * (discrete-time hazard after Singer and Willett 2003, ch. 11).
 *
 * 1. Inputs: the test's number (its logarithm), the lot's kind, and of its sample's release curve the
 *    share that left early and how far the crack stands out; a lot without a reading has the mean of both.
 * 2. Each effect but the general one is held towards none by a ridge, as if it were drawn from a normal
 *    distribution of the stated spread in log-odds: with few lots the answer is nearly the pooled rate.
 * 3. A test's number counts up to the highest that was seen often enough (`SEEN_LOTS` lots); beyond it the
 *    chance stays as it is there. Nothing is extrapolated.
 */

/** What is known of a lot before its tests. */
export interface LotTraits {
	readonly kind: LotKind;
	/** Share of the water that left early, 0 to 1; null without a reading. */
	readonly earlyShare: number | null;
	/** Burst over base of the crack; null without a reading. */
	readonly crackProminence: number | null;
}

/** A lot as far as its tests went. */
export interface TestedLot extends LotTraits {
	/** Tests that did not release it. */
	readonly fruitless: number;
	/** Whether one more test did. */
	readonly released: boolean;
}

export interface Hazard {
	/** Chance that test `number` (from 1) releases the lot, given that none before it did. */
	chance(lot: LotTraits, number: number): number;
}

/** Lots that must have come to a test number for it to count as seen (rule 3). */
const SEEN_LOTS = 5;
/** Spreads of effects in log-odds (rule 2); common practice, no source. */
const SPREAD = { number: 0.5, kind: 0.7, reading: 0.7 } as const;
/** So little that the general rate is free. */
const FREE = 1e-6;

/** @throws RangeError when there is no lot with a test */
export function fitHazard(lots: readonly TestedLot[]): Hazard {
	const early = scaleOf(lots.map((lot) => lot.earlyShare));
	const crack = scaleOf(lots.map((lot) => lot.crackProminence));
	const longest = seenNumbers(lots);
	const inputsOf = (lot: LotTraits, number: number) => [
		1,
		Math.log(Math.min(number, longest)),
		early(lot.earlyShare),
		crack(lot.crackProminence),
		...LOT_KINDS.map((kind) => (kind === lot.kind ? 1 : 0))
	];
	const { coefficients } = ridgeLogistic(rowsOf(lots, inputsOf), [
		FREE,
		SPREAD.number ** -2,
		SPREAD.reading ** -2,
		SPREAD.reading ** -2,
		...LOT_KINDS.map(() => SPREAD.kind ** -2)
	]);
	return { chance: (lot, number) => logisticChance(coefficients, inputsOf(lot, number)) };
}

/**
 * Chances of 1 to `most` further tests after `done` fruitless ones; what is left of 1 lies beyond.
 */
export function hazardPmf(hazard: Hazard, lot: LotTraits, done: number, most: number): number[] {
	let left = 1;
	return Array.from({ length: most }, (_, k) => {
		const chance = left * hazard.chance(lot, done + k + 1);
		left -= chance;
		return chance;
	});
}

function rowsOf(
	lots: readonly TestedLot[],
	inputsOf: (lot: LotTraits, number: number) => number[]
): LogisticRow[] {
	return lots.flatMap((lot) => {
		const tests = lot.fruitless + (lot.released ? 1 : 0);
		return Array.from({ length: tests }, (_, k) => ({
			inputs: inputsOf(lot, k + 1),
			events: k === lot.fruitless ? 1 : 0,
			trials: 1
		}));
	});
}

/** Rule 3. */
function seenNumbers(lots: readonly TestedLot[]): number {
	const numbers = lots.map((lot) => lot.fruitless + (lot.released ? 1 : 0)).sort((a, b) => b - a);
	return Math.max(1, numbers[SEEN_LOTS - 1] ?? 1);
}

/** Deviations from the mean in standard deviations; 0 where a value is missing or all are alike. */
function scaleOf(values: readonly (number | null)[]): (value: number | null) => number {
	const known = values.filter((value) => value !== null);
	if (known.length < 2) return () => 0;
	const [centre, spread] = [mean(known), standardDeviation(known)];
	return (value) => (value === null || spread === 0 ? 0 : (value - centre) / spread);
}

import type { LotKind } from '../lot/lot.ts';

/**
 * How much of the green mass a lot loses in roasting: measured on its own batches, else on those of its
 * kind, else a stated default. The mean is by mass (all that was lost over all that was charged), since
 * it is used to turn kilograms into kilograms.
 */

/** Weight loss taken when nothing was measured; common practice, no source. */
export const DEFAULT_WEIGHT_LOSS = 0.16;

/** Production and test batches of a lot as they were weighed, integer grams in all. */
export interface RoastYield {
	readonly lotId: number;
	readonly kind: LotKind;
	readonly batches: number;
	readonly chargeG: number;
	readonly outG: number;
}

export interface WeightLoss {
	/** (charge - out) / charge, 0 to 1. */
	readonly ratio: number;
	readonly basis: 'lot' | 'kind' | 'default';
	/** Batches it was measured on, 0 for the default. */
	readonly batches: number;
	/** One sentence for a person. */
	readonly because: string;
}

/**
 * The weight loss to plan each lot with, by lot.
 * @param yields one or more of each lot that was roasted
 * @throws RangeError when batches weigh nothing or come out heavier than they went in
 */
export function weightLosses(
	lots: readonly { readonly lotId: number; readonly kind: LotKind }[],
	yields: readonly RoastYield[]
): ReadonlyMap<number, WeightLoss> {
	yields.forEach(checkYield);
	const byLot = Map.groupBy(yields, ({ lotId }) => lotId);
	const byKind = new Map(
		[...Map.groupBy(yields, ({ kind }) => kind)].map(([kind, own]) => [
			kind,
			measured('kind', own, `of other ${kind} lots`)
		])
	);
	return new Map(
		lots.map(({ lotId, kind }) => [
			lotId,
			measured('lot', byLot.get(lotId), 'of this lot') ?? byKind.get(kind) ?? stated(kind)
		])
	);
}

function measured(
	basis: 'lot' | 'kind',
	yields: readonly RoastYield[] | undefined,
	whose: string
): WeightLoss | null {
	if (!yields || yields.length === 0) return null;
	const total = (of: (each: RoastYield) => number) => yields.reduce((sum, one) => sum + of(one), 0);
	const chargedG = total(({ chargeG }) => chargeG);
	const ratio = (chargedG - total(({ outG }) => outG)) / chargedG;
	const batches = total((each) => each.batches);
	const count = `${batches} ${batches === 1 ? 'batch' : 'batches'}`;
	return {
		...{ ratio, basis, batches },
		because: `${percent(ratio)} measured on ${count} ${whose}.`
	};
}

function stated(kind: LotKind): WeightLoss {
	return {
		ratio: DEFAULT_WEIGHT_LOSS,
		basis: 'default',
		batches: 0,
		because: `${percent(DEFAULT_WEIGHT_LOSS)} taken as usual: no batch of this or another ${kind} lot was weighed.`
	};
}

function percent(ratio: number): string {
	return `${(ratio * 100).toFixed(1)} %`;
}

function checkYield({ lotId, chargeG, outG }: RoastYield): void {
	if (!(chargeG > 0) || !(outG > 0) || outG > chargeG) {
		throw new RangeError(
			`batches of lot ${lotId} must come out lighter than they went in, found ${chargeG} g in, ${outG} g out`
		);
	}
}

import type { LotKind } from '../lot/lot.ts';
import { standardDeviation } from '../stats/summary.ts';

/**
 * How much of the green mass a lot loses in roasting: measured on its own batches, else on those of its
 * kind, else a stated default. The mean is by mass (all that was lost over all that was charged), since
 * it is used to turn kilograms into kilograms.
 */

/** Weight loss taken when nothing was measured; common practice, no source. */
export const DEFAULT_WEIGHT_LOSS = 0.16;

/** One production or test batch as it was weighed, integer grams. */
export interface RoastYield {
	readonly lotId: number;
	readonly kind: LotKind;
	readonly chargeG: number;
	readonly outG: number;
}

export interface WeightLoss {
	/** (charge - out) / charge, 0 to 1. */
	readonly ratio: number;
	readonly basis: 'lot' | 'kind' | 'default';
	/** Batches it was measured on, 0 for the default. */
	readonly batches: number;
	/** Standard deviation between those batches; null below two. */
	readonly spread: number | null;
	/** One sentence for a person. */
	readonly because: string;
}

/**
 * The weight loss to plan each lot with, by lot.
 * @throws RangeError when a batch weighs nothing or comes out heavier than it went in
 */
export function weightLosses(
	lots: readonly { readonly lotId: number; readonly kind: LotKind }[],
	yields: readonly RoastYield[]
): ReadonlyMap<number, WeightLoss> {
	for (const batch of yields) checkYield(batch);
	const byLot = Map.groupBy(yields, ({ lotId }) => lotId);
	const byKind = Map.groupBy(yields, ({ kind }) => kind);
	return new Map(
		lots.map(({ lotId, kind }) => [
			lotId,
			measured('lot', byLot.get(lotId), 'of this lot') ??
				measured('kind', byKind.get(kind), `of other ${kind} lots`) ??
				stated(kind)
		])
	);
}

function measured(
	basis: 'lot' | 'kind',
	batches: readonly RoastYield[] | undefined,
	whose: string
): WeightLoss | null {
	if (!batches || batches.length === 0) return null;
	const chargedG = batches.reduce((sum, { chargeG }) => sum + chargeG, 0);
	const outG = batches.reduce((sum, batch) => sum + batch.outG, 0);
	const ratio = (chargedG - outG) / chargedG;
	const each = batches.map((batch) => (batch.chargeG - batch.outG) / batch.chargeG);
	const count = `${batches.length} ${batches.length === 1 ? 'batch' : 'batches'}`;
	return {
		ratio,
		basis,
		batches: batches.length,
		spread: each.length < 2 ? null : standardDeviation(each),
		because: `${percent(ratio)} measured on ${count} ${whose}.`
	};
}

function stated(kind: LotKind): WeightLoss {
	return {
		ratio: DEFAULT_WEIGHT_LOSS,
		basis: 'default',
		batches: 0,
		spread: null,
		because: `${percent(DEFAULT_WEIGHT_LOSS)} taken as usual: no batch of this or another ${kind} lot was weighed.`
	};
}

function percent(ratio: number): string {
	return `${(ratio * 100).toFixed(1)} %`;
}

function checkYield({ lotId, chargeG, outG }: RoastYield): void {
	if (!(chargeG > 0) || !(outG > 0) || outG > chargeG) {
		throw new RangeError(
			`a batch of lot ${lotId} must come out lighter than it went in, found ${chargeG} g in, ${outG} g out`
		);
	}
}

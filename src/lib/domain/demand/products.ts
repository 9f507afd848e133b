import type { Problem } from '../quantity/problem.ts';
import type { IsoWeek } from '../quantity/time.ts';

/** What is sold: products as blends of lots, and how much of each a week asks for. */

export interface BlendPart {
	readonly lotId: number;
	/** Share of the roasted product, thousandths. */
	readonly sharePermille: number;
}

/** A product and what it is made of in the weeks looked at. A single lot is a blend of one part. */
export interface ProductBlend {
	readonly productId: number;
	readonly code: string;
	readonly name: string;
	/** Shares sum to 1000. */
	readonly components: readonly BlendPart[];
}

export interface WeeklyDemand {
	readonly productId: number;
	readonly week: IsoWeek;
	readonly roastedG: number;
}

/** Everything wrong with a product's blend: shares that don't sum to 1000, a lot named twice. */
export function blendProblems(product: ProductBlend): readonly Problem[] {
	const path = `product ${product.code}`;
	const found: Problem[] = [];
	const lots = new Set<number>();
	for (const { lotId, sharePermille } of product.components) {
		if (!Number.isInteger(sharePermille) || sharePermille < 1) {
			const message = `Lot ${lotId} has a share of ${sharePermille} thousandths; expected a whole number from 1.`;
			found.push({ path, message });
		}
		if (lots.has(lotId)) {
			found.push({ path, message: `Lot ${lotId} is named twice; expected once.` });
		}
		lots.add(lotId);
	}
	const sum = product.components.reduce((total, part) => total + part.sharePermille, 0);
	if (sum !== 1000) {
		found.push({ path, message: `The shares sum to ${sum} thousandths; expected 1000.` });
	}
	return found;
}

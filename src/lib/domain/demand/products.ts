import type { Problem } from '../quantity/problem.ts';
import type { IsoWeek } from '../quantity/time.ts';

/** What is sold: products as blends of lots, and how much of each a week asks for. */

export interface BlendPart {
	readonly lotId: number;
	/** Share of the roasted product, thousandths. */
	readonly sharePermille: number;
	/** How far the share may go when a lot runs short, thousandths; the share itself where left out. */
	readonly leastPermille?: number | null;
	readonly mostPermille?: number | null;
	/** Lots that may stand in for this one, the first choice first. */
	readonly substituteLotIds?: readonly number[];
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
	found.push(...product.components.flatMap(leewayProblems).map((p) => ({ ...p, path })));
	const sum = product.components.reduce((total, part) => total + part.sharePermille, 0);
	if (sum !== 1000) {
		found.push({ path, message: `The shares sum to ${sum} thousandths; expected 1000.` });
	}
	return found;
}

/**
 * What is wrong with how far a part may go: a range without its share, a lot that stands in for itself
 * or twice. The path is the column of the table of blends.
 */
export function leewayProblems(part: BlendPart): readonly Problem[] {
	const { sharePermille, substituteLotIds = [] } = part;
	const leastPermille = part.leastPermille ?? sharePermille;
	const mostPermille = part.mostPermille ?? sharePermille;
	const found: Problem[] = [];
	const share = `the share of ${sharePermille / 10} %`;
	if (leastPermille > sharePermille)
		found.push({
			path: 'least_pct',
			message: `Found ${leastPermille / 10} %, expected at most ${share}.`
		});
	if (mostPermille < sharePermille || mostPermille > 1000)
		found.push({
			path: 'most_pct',
			message: `Found ${mostPermille / 10} %, expected at least ${share} and at most 100 %.`
		});
	if (substituteLotIds.includes(part.lotId))
		found.push({ path: 'substitutes', message: 'Found the lot itself, expected other lots.' });
	if (new Set(substituteLotIds).size < substituteLotIds.length)
		found.push({ path: 'substitutes', message: 'Found a lot twice, expected each lot once.' });
	return found;
}

import { good, type Outcome, type Problem } from '../quantity/problem.ts';
import { splitWhole } from '../quantity/share.ts';
import type { IsoWeek } from '../quantity/time.ts';
import { isWeek } from '../quantity/week.ts';
import { blendProblems, type ProductBlend, type WeeklyDemand } from './products.ts';
import type { WeightLoss } from './weightLoss.ts';

/** From what products sell to what lots must give: roasted grams by lot, then green grams. */

/** What one product takes of one lot in one week. */
export interface LotNeed {
	readonly lotId: number;
	readonly productId: number;
	readonly week: IsoWeek;
	readonly roastedG: number;
	/** Green coffee that gives `roastedG` at the mean weight loss, to the nearest gram. */
	readonly greenG: number;
	readonly loss: WeightLoss;
}

/** Green coffee of one lot in one week. */
export interface WeeklyGreen {
	readonly week: IsoWeek;
	readonly greenG: number;
}

/**
 * The needs behind a demand, in the order of the demand and of each blend. The roasted grams of a
 * product's lots sum to what was asked.
 * @param losses by lot, as `weightLosses` gives them
 */
export function explodeDemand(
	products: readonly ProductBlend[],
	demand: readonly WeeklyDemand[],
	losses: ReadonlyMap<number, WeightLoss>
): Outcome<readonly LotNeed[]> {
	const blends = new Map(products.map((product) => [product.productId, product]));
	const problems = [
		...products.flatMap(blendProblems),
		...products.flatMap((product) => lossProblems(product, losses)),
		...demand.flatMap((asked) => demandProblems(asked, blends))
	];
	if (problems.length > 0) return { ok: false, problems };
	return good(
		demand
			.filter(({ roastedG }) => roastedG > 0)
			.flatMap((asked) => needsOf(asked, blends.get(asked.productId)!, losses))
	);
}

function needsOf(
	{ productId, week, roastedG }: WeeklyDemand,
	{ components }: ProductBlend,
	losses: ReadonlyMap<number, WeightLoss>
): readonly LotNeed[] {
	const shares = components.map((part) => part.sharePermille);
	const roasted = splitWhole(roastedG, shares);
	return components.map(({ lotId }, i) => {
		const loss = losses.get(lotId)!;
		return {
			lotId,
			productId,
			week,
			roastedG: roasted[i]!,
			greenG: Math.round(roasted[i]! / (1 - loss.ratio)),
			loss
		};
	});
}

/** The green need of each lot by week, weeks in order, weeks without need left out. */
export function weeklyGreen(
	needs: readonly LotNeed[]
): ReadonlyMap<number, readonly WeeklyGreen[]> {
	const byLot = Map.groupBy(needs, ({ lotId }) => lotId);
	return new Map(
		[...byLot].map(([lotId, own]) => {
			const byWeek = Map.groupBy(own, ({ week }) => week);
			const weeks = [...byWeek].map(([week, parts]) => ({
				week,
				greenG: parts.reduce((sum, { greenG }) => sum + greenG, 0)
			}));
			return [lotId, weeks.sort((a, b) => (a.week < b.week ? -1 : 1))];
		})
	);
}

function lossProblems(
	product: ProductBlend,
	losses: ReadonlyMap<number, WeightLoss>
): readonly Problem[] {
	return product.components
		.filter(({ lotId }) => !losses.has(lotId))
		.map(({ lotId }) => ({
			path: `product ${product.code}`,
			message: `Lot ${lotId} has no weight loss; expected one for every lot of a blend.`
		}));
}

function demandProblems(
	{ productId, week, roastedG }: WeeklyDemand,
	blends: ReadonlyMap<number, ProductBlend>
): readonly Problem[] {
	const path = `demand of product ${productId} in ${week}`;
	const found: Problem[] = [];
	if (!blends.has(productId)) {
		found.push({ path, message: 'The product has no blend in that week.' });
	}
	if (!isWeek(week)) {
		found.push({ path, message: `Found week "${week}", expected one such as 2026-W48.` });
	}
	if (!Number.isSafeInteger(roastedG) || roastedG < 0) {
		found.push({ path, message: `Found ${roastedG} g, expected whole grams, 0 or more.` });
	}
	return found;
}

import { formatKg } from '#lib/domain/quantity/mass.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { IsoWeek } from '#lib/domain/quantity/time.ts';
import { loadDemand, loadProducts } from '../store/production.ts';
import type { Deed } from './act.ts';
import { saveDemand } from './saveDemand.ts';
import { byWhom } from './versions.ts';

/** One order as typed: the roasted grams now wanted and those that were on the page. */
export interface OrderInput {
	readonly product: string;
	readonly roastedG: number;
	readonly seenG: number;
}

/**
 * Sets the orders of a week, those that differ from what was on the page. Refused, all of them, when
 * somebody else has changed one of these meanwhile.
 */
export async function saveWeekOrders(
	deed: Deed,
	week: IsoWeek,
	orders: readonly OrderInput[]
): Promise<Outcome<{ changed: number }>> {
	const [products, demand] = await Promise.all([loadProducts(deed.tx), loadDemand(deed.tx, week)]);
	const changed = orders.filter((order) => order.roastedG !== order.seenG);
	const problems: Problem[] = [];
	for (const { product: code, roastedG, seenG } of changed) {
		const product = products.find((p) => p.code === code);
		const nowG = demand.find((d) => d.productId === product?.id && d.week === week)?.roastedG ?? 0;
		if (!product) problems.push({ path: code, message: 'There is no such product.' });
		else if (nowG !== seenG)
			problems.push({
				path: code,
				message: `It was set to ${formatKg(nowG)} ${await byWhom(deed, { acts: ['save demand'], detail: { productId: product.id, week } })} meanwhile; it was ${formatKg(seenG)} when you opened the page.`
			});
		else {
			const saved = await saveDemand(deed, { productId: product.id, week, roastedG });
			if (!saved.ok) problems.push(...saved.problems);
		}
	}
	return problems.length > 0 ? bad(...problems) : good({ changed: changed.length });
}

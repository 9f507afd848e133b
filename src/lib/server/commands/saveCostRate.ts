import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { Day } from '#lib/domain/quantity/time.ts';
import { costRate } from '../db/schema.ts';
import { requireSite } from '../store/site.ts';
import { note, type Deed } from './act.ts';

export type CostRateInput = Omit<typeof costRate.$inferInsert, 'id'>;

/**
 * Sets what a roaster costs from a day on; the same day again replaces it. Rates are in the site's
 * currency, since every cost is summed in it.
 */
export async function saveCostRate(
	deed: Deed,
	input: CostRateInput
): Promise<Outcome<{ fromDay: Day }>> {
	const { currency } = await requireSite(deed.tx);
	if (input.currency !== currency)
		return bad({
			path: 'currency',
			message: `Found ${input.currency}, expected ${currency}, the currency of the site.`
		});
	await deed.tx
		.insert(costRate)
		.values(input)
		.onConflictDoUpdate({ target: [costRate.roasterId, costRate.fromDay], set: input });
	await note(deed, 'save cost rate', null, { ...input });
	return good({ fromDay: input.fromDay });
}

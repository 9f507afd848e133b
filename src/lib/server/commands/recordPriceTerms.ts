import { eq } from 'drizzle-orm';
import { checkTerms, type PriceTerms } from '#lib/domain/cost/terms.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { Day } from '#lib/domain/quantity/time.ts';
import { lot, priceTerms } from '../db/schema.ts';
import { atFields } from '../imports/fields.ts';
import { priceTermsTable } from '../imports/tables.ts';
import { requireSite } from '../store/site.ts';
import { note, type Deed } from './act.ts';

export type PriceTermsInput = Omit<PriceTerms, 'bagG'> & {
	readonly lotId: number;
	readonly agreedOn: Day;
};

/** Records what a lot costs. Terms recorded later replace these for every figure from then on. */
export async function recordPriceTerms(
	deed: Deed,
	input: PriceTermsInput
): Promise<Outcome<{ lotId: number }>> {
	const { lotId, agreedOn, ...terms } = input;
	const [lots, site] = await Promise.all([
		deed.tx.select({ bagG: lot.bagG }).from(lot).where(eq(lot.id, lotId)),
		requireSite(deed.tx)
	]);
	if (!lots[0]) return bad({ path: 'lot', message: 'There is no such lot.' });
	const checked = checkTerms({ ...terms, bagG: lots[0].bagG }, site.currency);
	if (!checked.ok) return bad(...atFields(checked.problems, priceTermsTable));
	const row = { ...terms, lotId, agreedOn };
	await deed.tx.insert(priceTerms).values({ ...row, recordedAt: deed.now, by: deed.by });
	await note(deed, 'record price terms', lotId, row);
	return good({ lotId });
}

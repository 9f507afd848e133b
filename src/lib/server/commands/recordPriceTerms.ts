import type { PriceTerms } from '#lib/domain/cost/terms.ts';
import { good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { Day } from '#lib/domain/quantity/time.ts';
import { priceTerms } from '../db/schema.ts';
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
	await deed.tx.insert(priceTerms).values({ ...input, recordedAt: deed.now, by: deed.by });
	await note(deed, 'record price terms', input.lotId, { ...input });
	return good({ lotId: input.lotId });
}

import { eq } from 'drizzle-orm';
import { checkTerms, type PriceTerms } from '#lib/domain/cost/terms.ts';
import { openSince } from '#lib/domain/ledger/period.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { Day } from '#lib/domain/quantity/time.ts';
import { instantAt } from '#lib/domain/quantity/week.ts';
import { BY_THE_TABLE, lot, priceTerms } from '../db/schema.ts';
import { atFields } from '../imports/fields.ts';
import { priceTermsTable } from '../imports/tables.ts';
import { loadClosedMonths } from '../store/ledger.ts';
import { loadPriceTerms } from '../store/lots.ts';
import { requireSite, type Site } from '../store/site.ts';
import { note, type Deed } from './act.ts';

export type PriceTermsInput = Omit<PriceTerms, 'bagG'> & {
	readonly lotId: number;
	readonly agreedOn: Day;
};

/**
 * Records what a lot costs. The first terms of a lot count from its beginning, later ones from the day
 * they were agreed on, and none within a closed period.
 */
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
	await deed.tx.insert(priceTerms).values({
		...row,
		fxE6: terms.fxE6 ?? BY_THE_TABLE,
		postedAt: await countsFrom(deed, lotId, agreedOn, site),
		recordedAt: deed.now,
		by: deed.by
	});
	await note(deed, 'record price terms', lotId, row);
	return good({ lotId });
}

async function countsFrom(deed: Deed, lotId: number, agreedOn: Day, site: Site): Promise<number> {
	const [closed, before] = await Promise.all([
		loadClosedMonths(deed.tx),
		loadPriceTerms(deed.tx, lotId)
	]);
	const open = openSince(closed, site.timeZone);
	if (before.length === 0) return open;
	return Math.max(
		...[open, instantAt(agreedOn, 0, site.timeZone)],
		...before.map(({ postedAt }) => postedAt)
	);
}

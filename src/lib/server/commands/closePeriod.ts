import { checkClose, type Month } from '#lib/domain/ledger/period.ts';
import type { Outcome } from '#lib/domain/quantity/problem.ts';
import { periodClose } from '../db/schema.ts';
import { loadClosedMonths } from '../store/ledger.ts';
import { requireSite } from '../store/site.ts';
import { note, type Deed } from './act.ts';

/** Closes a month, and every month before it, for good. */
export async function closePeriod(
	deed: Deed,
	input: { readonly month: string; readonly note: string }
): Promise<Outcome<Month>> {
	const [site, closed] = await Promise.all([requireSite(deed.tx), loadClosedMonths(deed.tx)]);
	const checked = checkClose(input.month, closed, deed.now, site.timeZone);
	if (!checked.ok) return checked;
	await deed.tx
		.insert(periodClose)
		.values({ month: checked.value, at: deed.now, by: deed.by, note: input.note });
	await note(deed, 'close period', null, { month: checked.value, note: input.note });
	return checked;
}

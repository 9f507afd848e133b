import { postingsOf } from '#lib/domain/cost/posting.ts';
import { checkClose, type Month } from '#lib/domain/ledger/period.ts';
import type { Outcome } from '#lib/domain/quantity/problem.ts';
import { periodClose, testPosting } from '../db/schema.ts';
import { loadClosedMonths } from '../store/ledger.ts';
import { requireSite } from '../store/site.ts';
import { loadCosting, loadCounted } from '../views/costing.ts';
import { note, type Deed } from './act.ts';

/** Closes a month, and every month before it, for good; what its tests count for is kept. */
export async function closePeriod(
	deed: Deed,
	input: { readonly month: string; readonly note: string }
): Promise<Outcome<Month>> {
	const [site, closed] = await Promise.all([requireSite(deed.tx), loadClosedMonths(deed.tx)]);
	const checked = checkClose(input.month, closed, deed.now, site.timeZone);
	if (!checked.ok) return checked;
	const costing = await loadCosting(deed.tx, site);
	const { counted } = await loadCounted(deed.tx, costing.tests);
	const kept = postingsOf(counted, checked.value);
	for (let i = 0; i < kept.length; i += 500)
		await deed.tx
			.insert(testPosting)
			.values(
				kept.slice(i, i + 500).map(({ testId, ...row }) => ({ testBatchId: testId, ...row }))
			);
	await deed.tx
		.insert(periodClose)
		.values({ month: checked.value, at: deed.now, by: deed.by, note: input.note });
	await note(deed, 'close period', null, {
		month: checked.value,
		note: input.note,
		tests: kept.length
	});
	return checked;
}

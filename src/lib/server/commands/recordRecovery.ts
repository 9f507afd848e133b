import { checkRecoveries, type RecoveryKind } from '#lib/domain/cost/recovery.ts';
import { money } from '#lib/domain/quantity/money.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { recovery } from '../db/schema.ts';
import { atFields } from '../imports/fields.ts';
import { recoveriesTable } from '../imports/tables.ts';
import { requireSite } from '../store/site.ts';
import { loadTests } from '../store/tests.ts';
import { note, type Deed } from './act.ts';

export interface RecoveryInput {
	readonly testBatchId: number;
	readonly at: InstantMs;
	readonly kind: RecoveryKind;
	/** Roasted grams. */
	readonly massG: number;
	/** In the site's currency; nothing for coffee written off. */
	readonly valueMinor: number;
	readonly productId: number | null;
}

/** Records what became of a test's roasted coffee; never more than the test gave. */
export async function recordRecovery(
	deed: Deed,
	input: RecoveryInput
): Promise<Outcome<{ lotId: number }>> {
	const test = (await loadTests(deed.tx, { testBatchId: input.testBatchId }))[0];
	if (!test?.roast) return bad({ path: 'test', message: 'There is no such roasted test.' });
	const { currency } = await requireSite(deed.tx);
	const all = [...test.recoveries, input].map((r) => ({
		kind: r.kind as RecoveryKind,
		massG: r.massG,
		value: money(r.valueMinor, currency)
	}));
	const checked = checkRecoveries(test.roast.outG, all, currency);
	if (!checked.ok) return bad(...atFields(checked.problems, recoveriesTable));
	await deed.tx.insert(recovery).values({ ...input, by: deed.by, recordedAt: deed.now });
	await note(deed, 'record recovery', test.batch.lotId, { number: test.batch.number, ...input });
	return good({ lotId: test.batch.lotId });
}

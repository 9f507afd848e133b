import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { RecoveryKind } from '#lib/domain/cost/recovery.ts';
import { recovery } from '../db/schema.ts';
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
	const problems: Problem[] = [];
	const before = test.recoveries.reduce((sum, r) => sum + r.massG, 0);
	const leftG = test.roast.outG - before;
	if (!(input.massG > 0) || input.massG > leftG)
		problems.push({
			path: 'mass_kg',
			message: `Found ${input.massG / 1000} kg, expected more than zero and at most the ${leftG / 1000} kg of this test that are not accounted for.`
		});
	if (input.kind === 'written off' && input.valueMinor !== 0)
		problems.push({
			path: 'value',
			message: 'Coffee written off brings nothing back; expected 0.'
		});
	if (input.valueMinor < 0) problems.push({ path: 'value', message: 'Expected zero or more.' });
	if (problems.length > 0) return bad(...problems);
	await deed.tx.insert(recovery).values({ ...input, by: deed.by, recordedAt: deed.now });
	await note(deed, 'record recovery', test.batch.lotId, { number: test.batch.number, ...input });
	return good({ lotId: test.batch.lotId });
}

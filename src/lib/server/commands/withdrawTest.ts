import { eq } from 'drizzle-orm';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { slot, testBatch } from '../db/schema.ts';
import { loadTests } from '../store/tests.ts';
import { note, type Deed } from './act.ts';

/** Takes a test that was not roasted out of the queue and out of its slot. */
export async function withdrawTest(
	deed: Deed,
	input: { readonly testBatchId: number }
): Promise<Outcome<{ lotId: number }>> {
	const test = (await loadTests(deed.tx, input))[0];
	if (!test) return bad({ path: 'test', message: 'There is no such test in the queue.' });
	if (test.roast)
		return bad({
			path: 'test',
			message: 'This test has been roasted; what happened stays on record.'
		});
	await deed.tx.delete(slot).where(eq(slot.testBatchId, input.testBatchId));
	await deed.tx
		.update(testBatch)
		.set({ withdrawnAt: deed.now })
		.where(eq(testBatch.id, input.testBatchId));
	await note(deed, 'withdraw test', test.batch.lotId, { number: test.batch.number });
	return good({ lotId: test.batch.lotId });
}

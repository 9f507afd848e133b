import { eq } from 'drizzle-orm';
import { bad, type Outcome } from '#lib/domain/quantity/problem.ts';
import { production, testRoast } from '../db/schema.ts';
import type { LogInput } from '../imports/parseLog.ts';
import { findBatch } from '../store/batches.ts';
import { loadTests } from '../store/tests.ts';
import { note, type Deed } from './act.ts';
import { takeTarget } from './recipes.ts';
import { storeLog } from './storeLog.ts';

/**
 * Adds the drum log of a test that was recorded as roasted without one. Where the lot's newest recipe comes
 * from that test, it gets a version with the log's curve as its target.
 */
export async function addTestLog(
	deed: Deed,
	input: { readonly testBatchId: number; readonly file: LogInput }
): Promise<Outcome<{ logId: number }>> {
	const test = (await loadTests(deed.tx, { testBatchId: input.testBatchId }))[0];
	if (!test) return bad({ path: 'test', message: 'There is no such test.' });
	const { number } = test.batch;
	if (!test.roast)
		return bad({
			path: 'test',
			message: `Test ${number} is not recorded as roasted; its log is taken in with its roast.`
		});
	if (test.roast.logId !== null)
		return bad({
			path: 'test',
			message: `Test ${number} of lot ${test.lotCode} has a log already; expected a roast without one.`
		});
	const stored = await storeDrumLog(deed, input.file);
	if (!stored.ok) return stored;
	const { logId } = stored.value;
	await deed.tx
		.update(testRoast)
		.set({ logId })
		.where(eq(testRoast.testBatchId, input.testBatchId));
	await note(deed, 'add a log to a test roast', test.batch.lotId, {
		number,
		file: input.file.fileName
	});
	await takeTarget(deed, input.testBatchId);
	return stored;
}

/** Adds the drum log of a production batch that was recorded without one. */
export async function addProductionLog(
	deed: Deed,
	input: { readonly productionId: number; readonly file: LogInput }
): Promise<Outcome<{ logId: number }>> {
	const found = await findBatch(deed.tx, input.productionId);
	if (!found) return bad({ path: 'batch', message: 'There is no such production batch.' });
	if (found.batch.logId !== null)
		return bad({
			path: 'batch',
			message: `This batch of lot ${found.lotCode} has a log already; expected one without.`
		});
	const stored = await storeDrumLog(deed, input.file);
	if (!stored.ok) return stored;
	const { logId } = stored.value;
	await deed.tx.update(production).set({ logId }).where(eq(production.id, found.batch.id));
	await note(deed, 'add a log to a production batch', found.batch.lotId, {
		batch: found.batch.id,
		roastedAt: found.batch.roastedAt,
		file: input.file.fileName
	});
	return stored;
}

async function storeDrumLog(deed: Deed, file: LogInput): Promise<Outcome<{ logId: number }>> {
	if (file.log.kind !== 'drum')
		return bad({
			path: file.fileName,
			message: `Found a ${file.log.kind} log, expected a drum log.`
		});
	return storeLog(deed, file);
}

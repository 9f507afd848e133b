import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { testRoast } from '../db/schema.ts';
import { loadTests } from '../store/tests.ts';
import type { LogInput } from '../imports/parseLog.ts';
import { note, type Deed } from './act.ts';
import { postMovements } from './recordMovement.ts';
import { storeLog } from './storeLog.ts';

export interface TestRoastInput {
	readonly testBatchId: number;
	readonly roastedAt: InstantMs;
	readonly chargeG: number;
	readonly outG: number;
	readonly note: string;
	/** The drum log, where there is one. */
	readonly file: LogInput | null;
}

/** Records that a planned test was roasted; its charge comes out of stock. */
export async function recordTestRoast(
	deed: Deed,
	input: TestRoastInput
): Promise<Outcome<{ lotId: number }>> {
	const test = (await loadTests(deed.tx, { testBatchId: input.testBatchId }))[0];
	if (!test) return bad({ path: 'test', message: 'There is no such test in the queue.' });
	if (test.roast)
		return bad({
			path: 'test',
			message: `Test ${test.batch.number} is already recorded as roasted.`
		});
	if (input.outG >= input.chargeG || input.outG <= 0)
		return bad({
			path: 'out_kg',
			message: `Found ${input.outG / 1000} kg out of ${input.chargeG / 1000} kg charged, expected more than zero and less than the charge.`
		});
	let logId: number | null = null;
	if (input.file) {
		const stored = await storeLog(deed, input.file);
		if (!stored.ok) return stored;
		logId = stored.value.logId;
	}
	await deed.tx.insert(testRoast).values({
		testBatchId: input.testBatchId,
		roastedAt: input.roastedAt,
		chargeG: input.chargeG,
		outG: input.outG,
		logId,
		note: input.note,
		by: deed.by,
		recordedAt: deed.now
	});
	const posted = await postMovements(deed, test.batch.lotId, [
		{
			at: input.roastedAt,
			kind: 'tested',
			massG: -input.chargeG,
			reason: `Test ${test.batch.number} on ${test.roasterName}`,
			testBatchId: input.testBatchId
		}
	]);
	if (!posted.ok) return posted;
	await note(deed, 'record test roast', test.batch.lotId, {
		number: test.batch.number,
		chargeG: input.chargeG,
		outG: input.outG
	});
	return good({ lotId: test.batch.lotId });
}

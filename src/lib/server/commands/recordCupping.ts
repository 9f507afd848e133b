import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { checkCupping, cuppingScore, type CuppingForm } from '#lib/domain/trial/cupping.ts';
import { cupping } from '../db/schema.ts';
import { loadTests } from '../store/tests.ts';
import { note, type Deed } from './act.ts';

export interface CuppingInput {
	readonly testBatchId: number;
	readonly cuppedAt: InstantMs;
	readonly sheet: CuppingForm;
	readonly descriptors: string;
	readonly note: string;
}

/** Records one person's cupping of a roasted test, after the form's own rules. */
export async function recordCupping(
	deed: Deed,
	input: CuppingInput
): Promise<Outcome<{ lotId: number; score: number }>> {
	const test = (await loadTests(deed.tx, { testBatchId: input.testBatchId }))[0];
	if (!test) return bad({ path: 'test', message: 'There is no such test.' });
	if (!test.roast) return bad({ path: 'test', message: 'Record the roast before its cupping.' });
	if (input.cuppedAt < test.roast.roastedAt)
		return bad({ path: 'cupped_at', message: 'A test can be cupped only after it was roasted.' });
	const checked = checkCupping(input.sheet);
	if (!checked.ok) return checked;
	const score = cuppingScore(checked.value);
	await deed.tx.insert(cupping).values({ ...input, by: deed.by, recordedAt: deed.now });
	await note(deed, 'record cupping', test.batch.lotId, {
		number: test.batch.number,
		form: input.sheet.form,
		score
	});
	return good({ lotId: test.batch.lotId, score });
}

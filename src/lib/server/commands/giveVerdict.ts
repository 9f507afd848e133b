import type { Verdict } from '#lib/domain/lot/lot.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { verdict } from '../db/schema.ts';
import { loadTests } from '../store/tests.ts';
import { note, type Deed } from './act.ts';
import { makeRecipe } from './recipes.ts';

export interface VerdictInput {
	readonly testBatchId: number;
	readonly at: InstantMs;
	readonly verdict: Verdict;
	readonly reason: string;
}

/** Gives a cupped test its verdict. An approved test becomes the lot's newest recipe at once. */
export async function giveVerdict(
	deed: Deed,
	input: VerdictInput
): Promise<Outcome<{ lotId: number; recipeVersion: number | null }>> {
	const test = (await loadTests(deed.tx, { testBatchId: input.testBatchId }))[0];
	if (!test) return bad({ path: 'test', message: 'There is no such test.' });
	const problems: Problem[] = [];
	if (!test.roast) problems.push({ path: 'test', message: 'Record the roast first.' });
	else if (test.cuppings.length === 0)
		problems.push({ path: 'test', message: 'A verdict follows a cupping; record one first.' });
	if (test.verdict)
		problems.push({
			path: 'test',
			message: `Test ${test.batch.number} has its verdict (${test.verdict.verdict}, by ${test.verdict.by}); a changed mind is a new test.`
		});
	if (input.reason.trim() === '') problems.push({ path: 'reason', message: 'Give the reason.' });
	if (problems.length > 0) return bad(...problems);
	await deed.tx.insert(verdict).values({ ...input, by: deed.by, recordedAt: deed.now });
	const recipeVersion = input.verdict === 'approve' ? await makeRecipe(deed, test, input.at) : null;
	await note(deed, 'give verdict', test.batch.lotId, {
		number: test.batch.number,
		verdict: input.verdict,
		reason: input.reason,
		recipeVersion
	});
	return good({ lotId: test.batch.lotId, recipeVersion });
}

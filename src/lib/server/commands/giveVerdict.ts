import type { Verdict } from '#lib/domain/lot/lot.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { panelResults } from '#lib/domain/trial/panel.ts';
import { applyRule, goesAgainst, type RuleSays } from '#lib/domain/trial/verdictRule.ts';
import { verdict } from '../db/schema.ts';
import { loadTests, type TestRecord } from '../store/tests.ts';
import { findRuleOf } from '../store/verdictRules.ts';
import { note, type Deed } from './act.ts';
import { makeRecipe } from './recipes.ts';

export interface VerdictInput {
	readonly testBatchId: number;
	readonly at: InstantMs;
	readonly verdict: Verdict;
	readonly reason: string;
	/** Why it goes against the rule of the lot's product; needed only where it does. */
	readonly againstReason?: string | null;
}

/**
 * Gives a cupped test its verdict. An approved test becomes the lot's newest recipe at once. A verdict
 * against the rule of the lot's product is a person's right, and asks for the reason.
 */
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
	const ruleSaid = await ruleSays(deed, test, input.at);
	const isAgainst = ruleSaid !== null && goesAgainst(input.verdict, ruleSaid);
	const againstReason = isAgainst ? (input.againstReason ?? '').trim() : null;
	if (againstReason === '')
		problems.push({
			path: 'against_reason',
			message: `Whether the product's rule is met: ${ruleSaid}. Say why it is right to ${input.verdict} all the same.`
		});
	if (problems.length > 0) return bad(...problems);
	await deed.tx.insert(verdict).values({
		...{ ...input, ruleSaid, againstReason },
		...{ by: deed.by, recordedAt: deed.now }
	});
	const recipeVersion = input.verdict === 'approve' ? await makeRecipe(deed, test, input.at) : null;
	await note(deed, 'give verdict', test.batch.lotId, {
		number: test.batch.number,
		verdict: input.verdict,
		reason: input.reason,
		...(againstReason === null ? {} : { againstReason }),
		recipeVersion
	});
	return good({ lotId: test.batch.lotId, recipeVersion });
}

/** What the rule that held at that moment says of the test; null where none did. */
async function ruleSays(deed: Deed, test: TestRecord, at: InstantMs): Promise<RuleSays | null> {
	const held = await findRuleOf(deed.tx, test.batch.lotId);
	if (!held || held.setAt > at) return null;
	return applyRule(held.rule, panelResults(test.cuppings)).says;
}

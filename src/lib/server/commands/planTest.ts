import { eq, max } from 'drizzle-orm';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { isEdited, type KeptProposal } from '#lib/domain/trial/proposal.ts';
import type { TestSettings } from '#lib/domain/trial/settings.ts';
import { roaster, testBatch, testProposal } from '../db/schema.ts';
import { note, type Deed } from './act.ts';
import { requireStage } from './standingOf.ts';

export interface TestInput {
	readonly lotId: number;
	readonly plannedAt: InstantMs;
	readonly purpose: string;
	/** The one thing that changes against the test before. */
	readonly change: string;
	readonly roasterId: number;
	readonly settings: TestSettings;
	/** What the form was filled from; kept with the test. */
	readonly proposal?: KeptProposal;
}

/** Queues the lot's next test. Its number follows the last; the charge must suit the roaster. */
export async function planTest(
	deed: Deed,
	input: TestInput
): Promise<Outcome<{ testBatchId: number; number: number }>> {
	const stage = await requireStage(
		deed,
		input.lotId,
		['arrived', 'sample roasted', 'queued for test', 'in test', 'in review'],
		'plan a test'
	);
	if (!stage.ok) return stage;
	const problems: Problem[] = [];
	const rows = await deed.tx.select().from(roaster).where(eq(roaster.id, input.roasterId));
	const on = rows[0];
	const chargeG = input.settings.chargeG;
	if (!on) problems.push({ path: 'roaster', message: 'There is no such roaster.' });
	else if (chargeG < on.minChargeG || chargeG > on.maxChargeG)
		problems.push({
			path: 'charge_kg',
			message: `Found ${chargeG / 1000} kg, expected ${on.minChargeG / 1000} to ${on.maxChargeG / 1000} kg on ${on.name}.`
		});
	if (input.purpose.trim() === '')
		problems.push({ path: 'purpose', message: 'Say what this test is to find out.' });
	if (problems.length > 0) return bad(...problems);
	const last = await deed.tx
		.select({ number: max(testBatch.number) })
		.from(testBatch)
		.where(eq(testBatch.lotId, input.lotId));
	const number = (last[0]?.number ?? 0) + 1;
	const { proposal, ...planned } = input;
	const inserted = await deed.tx
		.insert(testBatch)
		.values({ ...planned, number, plannedBy: deed.by })
		.returning({ id: testBatch.id });
	const testBatchId = inserted[0]!.id;
	if (proposal)
		await deed.tx.insert(testProposal).values({
			testBatchId,
			kind: proposal.kind,
			proposal,
			edited: isEdited(proposal, input.settings),
			at: deed.now,
			by: deed.by
		});
	await note(deed, 'plan test', input.lotId, {
		number,
		purpose: input.purpose,
		change: input.change,
		...(proposal && { proposal: proposal.kind })
	});
	return good({ testBatchId, number });
}

import type { SampleStage } from '#lib/domain/lot/lot.ts';
import { sampleProblems } from '#lib/domain/lot/sampleFacts.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { sampleRoast } from '../db/schema.ts';
import type { LogInput } from '../imports/parseLog.ts';
import { note, type Deed } from './act.ts';
import { makeReadings } from './makeReadings.ts';
import { postMovements } from './recordMovement.ts';
import { requireStage } from './standingOf.ts';
import { storeLog } from './storeLog.ts';

export interface SampleInput {
	readonly lotId: number;
	readonly stage: SampleStage;
	readonly roastedAt: InstantMs;
	readonly chargeG: number | null;
	readonly outG: number | null;
	/** Dry-air flow at charge, g/s. */
	readonly airFlowGS: number | null;
	readonly sensorLagS: number | null;
	/** Seconds from charge, marked by ear. */
	readonly earCrackS: number | null;
	readonly note: string;
	readonly file: LogInput;
}

/**
 * Records a sample roast with its log and its reading. A sample of the arrived coffee comes out of
 * stock; offer and pre-shipment samples were sent apart and do not.
 */
export async function recordSample(
	deed: Deed,
	input: SampleInput
): Promise<Outcome<{ sampleId: number }>> {
	const { file, ...facts } = input;
	const problems = sampleProblems(input);
	if (problems.length > 0) return bad(...problems);
	if (input.stage === 'arrival') {
		const stage = await requireStage(
			deed,
			input.lotId,
			['arrived', 'sample roasted', 'queued for test', 'in test', 'in review', 'released'],
			'record a sample of the arrived coffee'
		);
		if (!stage.ok) return stage;
	}
	const stored = await storeLog(deed, file);
	if (!stored.ok) return stored;
	const rows = await deed.tx
		.insert(sampleRoast)
		.values({ ...facts, logId: stored.value.logId, by: deed.by, recordedAt: deed.now })
		.returning({ id: sampleRoast.id });
	const sampleId = rows[0]!.id;
	if (input.stage === 'arrival') {
		const posted = await postMovements(deed, input.lotId, [
			{
				at: input.roastedAt,
				kind: 'sampled',
				massG: -Math.round(input.chargeG ?? 0),
				reason: 'Sample roast of the arrived coffee',
				sampleId
			}
		]);
		if (!posted.ok) return posted;
	}
	await makeReadings(deed, { sampleId });
	await note(deed, 'record sample', input.lotId, { sampleId, file: file.fileName });
	return good({ sampleId });
}

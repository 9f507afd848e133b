import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { colour } from '../db/schema.ts';
import { findBatch } from '../store/batches.ts';
import { loadTests } from '../store/tests.ts';
import { note, type Deed } from './act.ts';

export interface ColourInput {
	/** The batch that was measured. */
	readonly of: { readonly testBatchId: number } | { readonly productionId: number };
	readonly value: number;
	/** The roastery's own name of the scale. */
	readonly scale: string;
	readonly at: InstantMs;
}

/** Records the colour value of a roasted batch; a later one of the same batch takes its place. */
export async function recordColour(deed: Deed, input: ColourInput): Promise<Outcome<null>> {
	const batch = await batchOf(deed, input.of);
	if (!batch.ok) return batch;
	const problems: Problem[] = [];
	if (!Number.isFinite(input.value))
		problems.push({ path: 'colour_value', message: 'Expected a number.' });
	if (input.scale.trim() === '')
		problems.push({
			path: 'colour_scale',
			message:
				'Found nothing, expected the name of your scale: values of two scales do not compare.'
		});
	if (input.at < batch.value.roastedAt)
		problems.push({ path: 'colour_at', message: 'Expected a time not before the roast.' });
	if (problems.length > 0) return bad(...problems);
	const scale = input.scale.trim();
	await deed.tx.insert(colour).values({
		...input.of,
		...{ value: input.value, scale, at: input.at, by: deed.by, recordedAt: deed.now }
	});
	await note(deed, 'record colour', batch.value.lotId, {
		of: batch.value.name,
		value: input.value,
		scale
	});
	return good(null);
}

async function batchOf(
	{ tx }: Deed,
	of: ColourInput['of']
): Promise<Outcome<{ lotId: number; roastedAt: InstantMs; name: string }>> {
	if ('productionId' in of) {
		const found = await findBatch(tx, of.productionId);
		if (!found) return bad({ path: 'batch', message: 'There is no such production batch.' });
		const { lotId, roastedAt, id } = found.batch;
		return good({ lotId, roastedAt, name: `production batch ${id}` });
	}
	const test = (await loadTests(tx, { testBatchId: of.testBatchId }))[0];
	if (!test?.roast) return bad({ path: 'test', message: 'There is no such roasted test.' });
	const { lotId, number } = test.batch;
	return good({ lotId, roastedAt: test.roast.roastedAt, name: `test ${number}` });
}

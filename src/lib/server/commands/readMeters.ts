import { eq } from 'drizzle-orm';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { energyReading, production, testBatch, testRoast } from '../db/schema.ts';
import { note, type Deed } from './act.ts';

export interface MetersInput {
	/** The batch that the meters were read for. */
	readonly batch: { readonly testBatchId: number } | { readonly productionId: number };
	readonly readAt: InstantMs;
	/** Watt-hours; null where that meter was not read. */
	readonly gasWh: number | null;
	readonly powerWh: number | null;
}

/** Records what the meters say that a roasted batch took. A later reading counts instead of an earlier. */
export async function readMeters(
	deed: Deed,
	{ batch, readAt, gasWh, powerWh }: MetersInput
): Promise<Outcome<{ lotId: number }>> {
	if (gasWh === null && powerWh === null)
		return bad({ path: 'gas_kwh', message: 'Found nothing, expected gas, power or both.' });
	const lotId = await lotOf(deed, batch);
	if (lotId === null) return bad({ path: 'batch', message: 'There is no such roasted batch.' });
	const read = { ...batch, readAt, gasWh, powerWh };
	await deed.tx.insert(energyReading).values({ ...read, by: deed.by, recordedAt: deed.now });
	await note(deed, 'read meters', lotId, read);
	return good({ lotId });
}

async function lotOf({ tx }: Deed, batch: MetersInput['batch']): Promise<number | null> {
	const rows =
		'testBatchId' in batch
			? await tx
					.select({ lotId: testBatch.lotId })
					.from(testBatch)
					.innerJoin(testRoast, eq(testRoast.testBatchId, testBatch.id))
					.where(eq(testBatch.id, batch.testBatchId))
			: await tx
					.select({ lotId: production.lotId })
					.from(production)
					.where(eq(production.id, batch.productionId));
	return rows[0]?.lotId ?? null;
}

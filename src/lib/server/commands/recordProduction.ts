import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { production } from '../db/schema.ts';
import { note, type Deed } from './act.ts';
import { postMovements } from './recordMovement.ts';
import { requireStage } from './standingOf.ts';

export interface ProductionInput {
	readonly productId: number;
	readonly roasterId: number;
	readonly roastedAt: InstantMs;
	readonly chargeG: number;
	readonly outG: number;
	/** Who roasted it, where that is not who records it. */
	readonly by?: string;
}

/**
 * Records production batches of one released lot, oldest first; their charges come out of stock. All or
 * none: the path of a problem names the batch by its place where there are several.
 * @returns ids of the batches, in the order given
 */
export async function recordProduction(
	deed: Deed,
	lotId: number,
	batches: readonly ProductionInput[]
): Promise<Outcome<{ count: number; ids: readonly number[] }>> {
	const stage = await requireStage(deed, lotId, ['released'], 'roast it for production');
	if (!stage.ok) return stage;
	const problems = batches.flatMap((batch, i) =>
		massProblems(batch, batches.length > 1 ? i : null)
	);
	if (problems.length > 0) return bad(...problems);
	const recorded = { by: deed.by, recordedAt: deed.now };
	const rows = await deed.tx
		.insert(production)
		.values(batches.map((batch) => ({ ...recorded, ...batch, lotId })))
		.returning({ id: production.id });
	const posted = await postMovements(
		deed,
		lotId,
		batches.map((batch, i) => ({
			at: batch.roastedAt,
			kind: 'produced' as const,
			massG: -batch.chargeG,
			reason: 'Production batch',
			by: batch.by ?? deed.by,
			productionId: rows[i]!.id
		}))
	);
	if (!posted.ok) return posted;
	const chargeG = batches.reduce((sum, batch) => sum + batch.chargeG, 0);
	await note(deed, 'record production', lotId, { batches: batches.length, chargeG });
	return good({ count: batches.length, ids: rows.map(({ id }) => id) });
}

function massProblems({ chargeG, outG }: ProductionInput, place: number | null): Problem[] {
	if (outG < chargeG && outG > 0) return [];
	return [
		{
			path: place === null ? 'out_kg' : `batch ${place + 1}, out_kg`,
			message: `Found ${outG / 1000} kg out of ${chargeG / 1000} kg charged, expected more than zero and less than the charge.`
		}
	];
}

import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { production } from '../db/schema.ts';
import { note, type Deed } from './act.ts';
import { postMovement } from './recordMovement.ts';
import { requireStage } from './standingOf.ts';

export interface ProductionInput {
	readonly lotId: number;
	readonly productId: number;
	readonly roasterId: number;
	readonly roastedAt: InstantMs;
	readonly chargeG: number;
	readonly outG: number;
}

/** Records a production batch of a released lot; its charge comes out of stock. */
export async function recordProduction(
	deed: Deed,
	input: ProductionInput
): Promise<Outcome<{ productionId: number }>> {
	const stage = await requireStage(deed, input.lotId, ['released'], 'roast it for production');
	if (!stage.ok) return stage;
	if (input.outG >= input.chargeG || input.outG <= 0)
		return bad({
			path: 'out_kg',
			message: `Found ${input.outG / 1000} kg out of ${input.chargeG / 1000} kg charged, expected more than zero and less than the charge.`
		});
	const rows = await deed.tx
		.insert(production)
		.values({ ...input, by: deed.by, recordedAt: deed.now })
		.returning({ id: production.id });
	const productionId = rows[0]!.id;
	const posted = await postMovement(
		deed,
		{
			lotId: input.lotId,
			at: input.roastedAt,
			kind: 'produced',
			massG: -input.chargeG,
			reason: 'Production batch'
		},
		{ productionId }
	);
	if (!posted.ok) return posted;
	await note(deed, 'record production', input.lotId, { productionId, chargeG: input.chargeG });
	return good({ productionId });
}

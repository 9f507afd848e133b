import { checkMovement } from '#lib/domain/ledger/ledger.ts';
import type { Movement } from '#lib/domain/ledger/movement.ts';
import { good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { movement } from '../db/schema.ts';
import { loadOnHandG } from '../store/lots.ts';
import { note, type Deed } from './act.ts';

/** The record a movement comes from, where it comes from one. */
export interface MovementSource {
	readonly sampleId?: number;
	readonly testBatchId?: number;
	readonly productionId?: number;
}

/**
 * Adds a movement to a lot's ledger, after the ledger's own rules (domain/ledger). Every act that takes
 * or brings coffee goes through here.
 */
export async function postMovement(
	deed: Deed,
	entry: Omit<Movement, 'by'>,
	source: MovementSource = {}
): Promise<Outcome<{ movementId: number }>> {
	const full: Movement = { ...entry, by: deed.by };
	const checked = checkMovement(await loadOnHandG(deed.tx, entry.lotId), full);
	if (!checked.ok) return checked;
	const rows = await deed.tx
		.insert(movement)
		.values({ ...full, ...source, recordedAt: deed.now })
		.returning({ id: movement.id });
	return good({ movementId: rows[0]!.id });
}

/** Records stock received, sold green, written off or counted. */
export async function recordMovement(
	deed: Deed,
	entry: Omit<Movement, 'by'>
): Promise<Outcome<{ movementId: number }>> {
	const posted = await postMovement(deed, entry);
	if (posted.ok)
		await note(deed, `record ${entry.kind}`, entry.lotId, {
			massG: entry.massG,
			reason: entry.reason,
			at: entry.at
		});
	return posted;
}

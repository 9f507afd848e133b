import { checkMovement } from '#lib/domain/ledger/ledger.ts';
import type { Movement } from '#lib/domain/ledger/movement.ts';
import { good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { movement } from '../db/schema.ts';
import type { RECORDED_MOVEMENTS } from '../imports/tables.ts';
import { loadOnHandG } from '../store/lots.ts';
import { note, type Deed } from './act.ts';

/** A movement of a lot with the record it comes from, where it comes from one. */
export type Entry = Omit<Movement, 'by' | 'lotId'> & {
	readonly by?: string;
	readonly sampleId?: number;
	readonly testBatchId?: number;
	readonly productionId?: number;
};

/**
 * Adds movements to a lot's ledger in their order, after the ledger's own rules (domain/ledger). Every act
 * that takes or brings coffee goes through here.
 */
export async function postMovements(
	deed: Deed,
	lotId: number,
	entries: readonly Entry[]
): Promise<Outcome<null>> {
	let onHandG = await loadOnHandG(deed.tx, lotId);
	const rows: (Movement & Entry)[] = [];
	for (const entry of entries) {
		const row = { by: deed.by, ...entry, lotId };
		const checked = checkMovement(onHandG, row);
		if (!checked.ok) return checked;
		onHandG += entry.massG;
		rows.push(row);
	}
	await deed.tx.insert(movement).values(rows.map((row) => ({ ...row, recordedAt: deed.now })));
	return good(null);
}

/** Records stock received, sold green, written off or counted. */
export async function recordMovement(
	deed: Deed,
	lotId: number,
	entry: Entry & { readonly kind: (typeof RECORDED_MOVEMENTS)[number] }
): Promise<Outcome<null>> {
	const posted = await postMovements(deed, lotId, [entry]);
	if (posted.ok)
		await note(deed, `record ${entry.kind}`, lotId, {
			massG: entry.massG,
			reason: entry.reason,
			at: entry.at
		});
	return posted;
}

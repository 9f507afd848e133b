import type { Outcome } from '#lib/domain/quantity/problem.ts';
import type { RECORDED_MOVEMENTS } from '../imports/tables.ts';
import { note, type Deed } from './act.ts';
import { postMovements, type Entry } from './postMovements.ts';

export { postMovements, type Entry };

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

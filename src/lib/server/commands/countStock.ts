import { bad, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { loadOnHandG } from '../store/lots.ts';
import type { Deed } from './act.ts';
import { recordMovement } from './recordMovement.ts';

export interface CountInput {
	readonly lotId: number;
	readonly at: InstantMs;
	/** All that was found, grams of green coffee. */
	readonly countedG: number;
	readonly reason: string;
}

/** Records a stock count: what it differs from the ledger by becomes a movement of its own. */
export async function countStock(deed: Deed, input: CountInput): Promise<Outcome<null>> {
	const { lotId, at, countedG, reason } = input;
	const massG = countedG - (await loadOnHandG(deed.tx, lotId));
	if (massG === 0)
		return bad({
			path: 'massG',
			message: 'The count agrees with the ledger; there is nothing to record.'
		});
	return recordMovement(deed, lotId, { at, kind: 'count difference', massG, reason });
}

import { bad, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { BagPart } from '#lib/domain/ledger/bags.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { Deed } from './act.ts';
import { countDifference } from './postMovements.ts';
import { recordMovement } from './recordMovement.ts';

export interface CountInput {
	readonly lotId: number;
	readonly at: InstantMs;
	/** All that was found, grams of green coffee; in the bags named, where some are. */
	readonly countedG: number;
	readonly reason: string;
	/** What each bag held that was counted; none where the whole lot was. */
	readonly bags?: readonly BagPart[];
}

/** Records a stock count: what it differs from the ledger by becomes a movement of its own. */
export async function countStock(deed: Deed, input: CountInput): Promise<Outcome<null>> {
	const { lotId, at, countedG, reason, bags = [] } = input;
	const difference = await countDifference(deed, lotId, at, countedG, bags);
	if (!difference.ok) return difference;
	const { massG } = difference.value;
	if (massG === 0)
		return bad({
			path: 'massG',
			message: 'The count agrees with the ledger; there is nothing to record.'
		});
	return recordMovement(deed, lotId, {
		...{ at, kind: 'count difference', massG, reason },
		bags: difference.value.bags
	});
}

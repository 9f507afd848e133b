import { and, eq } from 'drizzle-orm';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { IsoWeek } from '#lib/domain/quantity/time.ts';
import { demand } from '../db/schema.ts';
import { note, type Deed } from './act.ts';
import { changes } from './changes.ts';

export interface DemandInput {
	readonly productId: number;
	readonly week: IsoWeek;
	readonly roastedG: number;
}

/** Sets what is ordered of a product in a week; the newest entry counts. */
export async function saveDemand(deed: Deed, input: DemandInput): Promise<Outcome<DemandInput>> {
	if (!(input.roastedG >= 0)) return bad({ path: 'roasted_kg', message: 'Expected zero or more.' });
	const isOrder = and(eq(demand.productId, input.productId), eq(demand.week, input.week));
	const [existing] = await deed.tx
		.select({ roastedG: demand.roastedG })
		.from(demand)
		.where(isOrder);
	await deed.tx
		.insert(demand)
		.values({ ...input, recordedAt: deed.now, by: deed.by })
		.onConflictDoUpdate({
			target: [demand.productId, demand.week],
			set: { roastedG: input.roastedG, recordedAt: deed.now, by: deed.by }
		});
	const { productId, week, roastedG } = input;
	await note(deed, 'save demand', null, { productId, week, ...changes(existing, { roastedG }) });
	return good(input);
}

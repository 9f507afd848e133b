import { and, eq } from 'drizzle-orm';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { IsoWeek } from '#lib/domain/quantity/time.ts';
import { demand } from '../db/schema.ts';
import { note, type Deed } from './act.ts';

export interface DemandInput {
	readonly productId: number;
	readonly week: IsoWeek;
	readonly roastedG: number;
}

/** Sets what is ordered of a product in a week; the newest entry counts. */
export async function saveDemand(deed: Deed, input: DemandInput): Promise<Outcome<DemandInput>> {
	if (!(input.roastedG >= 0)) return bad({ path: 'roasted_kg', message: 'Expected zero or more.' });
	await deed.tx
		.insert(demand)
		.values({ ...input, recordedAt: deed.now, by: deed.by })
		.onConflictDoUpdate({
			target: [demand.productId, demand.week],
			set: { roastedG: input.roastedG, recordedAt: deed.now, by: deed.by }
		});
	await note(deed, 'save demand', null, { ...input });
	return good(input);
}

/** An order as changed on a grid: what stood there when the grid was shown, null for nothing. */
export interface DemandChange extends DemandInput {
	readonly seenG: number | null;
	/** Names the cell in a problem: product and week. */
	readonly path: string;
}

/** Saves the changed cells of a grid of orders; refuses all when someone else changed one of them. */
export async function saveOrders(
	deed: Deed,
	changes: readonly DemandChange[]
): Promise<Outcome<{ changed: number }>> {
	for (const { seenG, path, ...input } of changes) {
		const rows = await deed.tx
			.select({ roastedG: demand.roastedG, by: demand.by })
			.from(demand)
			.where(and(eq(demand.productId, input.productId), eq(demand.week, input.week)));
		const nowG = rows[0]?.roastedG ?? null;
		if (nowG !== seenG)
			return bad({
				path,
				message: `${rows[0]?.by ?? 'Someone'} set it to ${(nowG ?? 0) / 1000} kg while you were editing. Your input is kept; save again to replace it.`
			});
		const saved = await saveDemand(deed, input);
		if (!saved.ok) return bad(...saved.problems.map((p) => ({ ...p, path })));
	}
	return good({ changed: changes.length });
}

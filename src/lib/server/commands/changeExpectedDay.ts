import { eq } from 'drizzle-orm';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { Day } from '#lib/domain/quantity/time.ts';
import { isDay } from '#lib/domain/quantity/week.ts';
import { lot } from '../db/schema.ts';
import { note, type Deed } from './act.ts';
import { requireStage } from './standingOf.ts';

export interface ExpectedDayInput {
	readonly lotId: number;
	readonly day: Day;
	/** The day that was looked at. */
	readonly seen: Day | null;
}

/** Changes the day on which a lot is expected, as long as it has not come. */
export async function changeExpectedDay(
	deed: Deed,
	{ lotId, day, seen }: ExpectedDayInput
): Promise<Outcome<{ lotId: number }>> {
	if (!isDay(day))
		return bad({ path: 'day', message: `Found '${day}', expected a day such as 2026-12-05.` });
	const stage = await requireStage(deed, lotId, ['expected'], 'change when it is expected');
	if (!stage.ok) return stage;
	const [row] = await deed.tx.select().from(lot).where(eq(lot.id, lotId));
	if (row!.expectedOn !== seen)
		return bad({
			path: 'day',
			message: `Somebody else set it to ${row!.expectedOn ?? 'no day'} meanwhile; it was ${seen ?? 'no day'} when you looked.`
		});
	await deed.tx
		.update(lot)
		.set({ expectedOn: day, version: row!.version + 1 })
		.where(eq(lot.id, lotId));
	const [before, after] = [{ expectedOn: seen }, { expectedOn: day }];
	await note(deed, 'change expected day', lotId, { before, after });
	return good({ lotId });
}

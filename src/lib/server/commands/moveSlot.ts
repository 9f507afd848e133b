import { eq } from 'drizzle-orm';
import type { Slot as PlannedSlot } from '#lib/domain/plan/plan.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { IsoWeek } from '#lib/domain/quantity/time.ts';
import { slot, weekPlan } from '../db/schema.ts';
import type { Slot } from '../store/production.ts';
import { consequenceWords, workOutMove, type MoveFields } from '../views/weekMove.ts';
import { note, type Deed } from './act.ts';
import { changedMeanwhile, rememberWeek, shiftedPlan } from './weekChanges.ts';

/**
 * Puts a slot elsewhere by hand, with what gives way to it (domain/plan/move.ts). It is fixed there: planning
 * anew leaves it. Refused with a clash, or where the plan is not the one that was seen.
 * @param seen version of the week's plan that was looked at
 */
export async function moveSlotByHand(
	deed: Deed,
	week: IsoWeek,
	fields: MoveFields,
	seen: number
): Promise<Outcome<{ gaveWay: number }>> {
	const changed = await changedMeanwhile(deed, week, seen);
	if (changed) return bad(changed);
	const worked = await workOutMove(deed.tx, deed.now, week, fields);
	if (!worked.ok) return worked;
	const { standing, row, found, what, from, to } = worked.value;
	const { clashes } = consequenceWords(found, standing);
	if (clashes.length > 0) return bad(...clashes.map((message) => ({ path: 'move', message })));
	const version = await rememberWeek(deed, week, `moved ${what} from ${from} to ${to}`);
	for (const [i, old] of standing.rows.entries()) {
		if (old.startAt < deed.now) continue;
		const isMoved = old.id === row.id;
		const now = found.after[i]!;
		await putSlot(deed, old, isMoved ? byHand(now, from, deed.by) : now, isMoved || old.locked);
	}
	await deed.tx
		.update(weekPlan)
		.set(shiftedPlan(standing.row!, version, found))
		.where(eq(weekPlan.week, week));
	await note(deed, 'move slot', row.lotId, {
		week,
		slot: what,
		before: { place: from },
		after: { place: to },
		...(found.gaveWay.length > 0 ? { gaveWay: found.gaveWay.length } : {})
	});
	return good({ gaveWay: found.gaveWay.length });
}

function byHand(planned: PlannedSlot, from: string, by: string): PlannedSlot {
	const [due = '', ...rest] = planned.why;
	return { ...planned, why: [due, `Moved here by ${by} from ${from}.`, ...rest] };
}

/** Stores where a slot is now and why; one that stays as it was is left alone. */
export async function putSlot(
	deed: Deed,
	old: Slot,
	now: PlannedSlot,
	locked: boolean,
	plannedStartAt = old.plannedStartAt
): Promise<void> {
	const isSame = old.startAt === now.startMs && old.roasterId === now.roasterId;
	const kept = old.why as { readonly reasons: readonly string[]; readonly setup: unknown };
	const why = { reasons: isSame && now.locked ? kept.reasons : now.why, setup: now.setup };
	if (isSame && old.locked === locked && JSON.stringify(why) === JSON.stringify(old.why)) return;
	await deed.tx
		.update(slot)
		.set({
			...{ roasterId: now.roasterId, startAt: now.startMs, endAt: now.endMs },
			...{ why, locked, plannedStartAt }
		})
		.where(eq(slot.id, old.id));
}

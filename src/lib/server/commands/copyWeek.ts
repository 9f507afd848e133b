import { dispatch } from '#lib/domain/plan/dispatch.ts';
import type { Slot } from '#lib/domain/plan/plan.ts';
import type { LockedSlot } from '#lib/domain/plan/problem.ts';
import { bad, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { IsoWeek } from '#lib/domain/quantity/time.ts';
import { weekOf, dayOf } from '#lib/domain/quantity/week.ts';
import { loadPlanSettings } from '../store/planning.ts';
import { requireSite } from '../store/site.ts';
import { workOutCopy } from '../views/weekCopy.ts';
import { note, type Deed } from './act.ts';
import { keepPlan } from './planWeek.ts';
import { changedMeanwhile } from './weekChanges.ts';

/**
 * Plans a week as the one before was, as far as its needs and its hours allow; the rest is planned by the
 * rule around it. What can't be copied is told by views/weekCopy.ts before.
 * @param seen version of the week's plan that was looked at, 0 for none
 */
export async function copyLastWeek(
	deed: Deed,
	week: IsoWeek,
	seen: number
): Promise<Outcome<{ slots: number; unplaced: number }>> {
	const changed = await changedMeanwhile(deed, week, seen);
	if (changed) return bad(changed);
	const { timeZone } = await requireSite(deed.tx);
	if (week < weekOf(dayOf(deed.now, timeZone)))
		return bad({ path: 'week', message: `${week} is over; there is nothing to plan.` });
	const { problem, unservable, copied, from } = await workOutCopy(deed.tx, deed.now, week);
	if (copied.slots.length === 0)
		return bad({ path: 'copy', message: `No slot of ${from} can be copied.` });
	const { weights } = await loadPlanSettings(deed.tx);
	const fixed = { ...problem, locked: [...problem.locked, ...copied.slots] };
	const planned = dispatch(fixed, weights);
	if (!planned.ok) return planned;
	const isCopied = (slot: Slot) => slot.locked && copied.slots.some((one) => isAt(one, slot));
	const slots = planned.value.slots.map((slot) => (isCopied(slot) ? asBefore(slot, from) : slot));
	const plan = { ...planned.value, slots };
	const kept = await keepPlan(
		deed,
		week,
		{ problem, unservable, plan, weights },
		`copied the slots of ${from}`
	);
	if (kept.ok)
		await note(deed, 'copy last week', null, {
			...{ week, from, copied: copied.slots.length, left: copied.left.length },
			...kept.value
		});
	return kept;
}

function isAt(one: LockedSlot, slot: Slot): boolean {
	return one.roasterId === slot.roasterId && one.startMs === slot.startMs;
}

function asBefore(slot: Slot, from: IsoWeek): Slot {
	const [due = ''] = slot.why;
	return { ...slot, locked: false, why: [due, `At the weekday and time that it had in ${from}.`] };
}

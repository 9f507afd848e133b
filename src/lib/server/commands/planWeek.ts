import { and, eq, gt, gte, inArray, or } from 'drizzle-orm';
import { checkPlan } from '#lib/domain/plan/check.ts';
import { dispatch } from '#lib/domain/plan/dispatch.ts';
import { costOf, type PlanWeights } from '#lib/domain/plan/objective.ts';
import type { WeekPlan } from '#lib/domain/plan/plan.ts';
import type { PlanProblem } from '#lib/domain/plan/problem.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { IsoWeek } from '#lib/domain/quantity/time.ts';
import { clockOf, dayOf, isWeek } from '#lib/domain/quantity/week.ts';
import { slot, weekPlan } from '../db/schema.ts';
import { loadPlanSettings } from '../store/planning.ts';
import { slotRow } from '../store/production.ts';
import { loadWeekProblem, type WeekProblem } from '../views/planProblem.ts';
import { loadRoastery } from '../views/roastery.ts';
import { note, type Deed } from './act.ts';
import { rememberWeek } from './weekChanges.ts';

/**
 * Plans a week anew: slots from now on that nobody locked are replaced, earlier and locked ones stay. The
 * plan is verified by the independent check before it is kept. Refused when the week is over, and when a
 * locked slot stands where the rules no longer let it.
 */
export async function planWeek(
	deed: Deed,
	week: IsoWeek
): Promise<Outcome<{ slots: number; unplaced: number }>> {
	if (!isWeek(week))
		return bad({ path: 'week', message: `Found '${week}', expected a week such as 2026-W48.` });
	const roastery = await loadRoastery(deed.tx, deed.now);
	if (week < roastery.week)
		return bad({
			path: 'week',
			message: `${week} is over; plan ${roastery.week} or a later week.`
		});
	const { problem, unservable } = await loadWeekProblem(deed.tx, roastery, week);
	const { weights } = await loadPlanSettings(deed.tx);
	const planned = dispatch(problem, weights);
	if (!planned.ok) return planned;
	const kept = await keepPlan(deed, week, { problem, unservable, plan: planned.value, weights });
	if (kept.ok) await note(deed, 'plan week', null, { week, ...kept.value });
	return kept;
}

/** A plan to keep, with what it was made from. */
export interface MadePlan extends Pick<WeekProblem, 'problem' | 'unservable'> {
	readonly plan: WeekPlan;
	readonly weights: PlanWeights;
	/** Numbers of slots that do not stay although they are fixed or about to start. */
	readonly freed?: readonly number[];
}

/** Verifies a plan and puts its slots in the place of the week's unlocked ones; the caller notes it. */
export async function keepPlan(
	deed: Deed,
	week: IsoWeek,
	{ problem, unservable, plan, weights, freed = [] }: MadePlan,
	what = 'planned it anew'
): Promise<Outcome<{ slots: number; unplaced: number }>> {
	const broken = checkPlan(problem, plan);
	const byHand = misplacedLocks(problem, broken);
	if (byHand.length > 0) return bad(...byHand);
	if (broken.length > 0)
		throw new Error(`The plan of ${week} breaks a rule: ${broken[0]!.path}: ${broken[0]!.message}`);
	const version = await rememberWeek(deed, week, what);
	await deed.tx
		.delete(slot)
		.where(
			and(
				eq(slot.week, week),
				or(
					and(eq(slot.locked, false), gte(slot.startAt, problem.fromMs)),
					inArray(slot.id, [...freed])
				)
			)
		);
	const fresh = plan.slots.filter((s) => !s.locked);
	await leaveLaterWeeks(deed, week, fresh);
	if (fresh.length > 0) await deed.tx.insert(slot).values(fresh.map((s) => slotRow(week, s)));
	const row = {
		plannedAt: deed.now,
		by: deed.by,
		unplaced: [...plan.unplaced, ...unservable],
		usage: plan.roasters,
		cost: costOf(problem, plan, weights),
		version
	};
	await deed.tx
		.insert(weekPlan)
		.values({ week, ...row })
		.onConflictDoUpdate({ target: weekPlan.week, set: row });
	return good({ slots: fresh.length, unplaced: row.unplaced.length });
}

/** Tests that found a slot here give up those in later weeks. */
async function leaveLaterWeeks(
	{ tx }: Deed,
	week: IsoWeek,
	placed: readonly { readonly testBatchId: number | null }[]
): Promise<void> {
	const tests = placed.flatMap(({ testBatchId }) => testBatchId ?? []);
	if (tests.length > 0)
		await tx.delete(slot).where(and(gt(slot.week, week), inArray(slot.testBatchId, tests)));
}

/** Locked slots that break a rule where they are: their shift, their warm-up or their cleaning changed. */
function misplacedLocks(problem: PlanProblem, broken: readonly Problem[]): readonly Problem[] {
	return problem.locked.flatMap((locked) => {
		const { roasterId, startMs } = locked;
		if (!broken.some(({ path }) => path.endsWith(`, roaster ${roasterId} at ${startMs}`)))
			return [];
		const name = problem.roasters.find((one) => one.id === roasterId)?.name ?? 'a roaster';
		const when = `${dayOf(startMs, problem.zone)} ${clockOf(startMs, problem.zone)}`;
		return {
			path: `slot ${when}, ${name}`,
			message:
				'It is fixed where it can no longer be: its shift, warm-up or cleaning has changed. Let it move, then plan again.'
		};
	});
}

/** Fixes a slot where it is, or lets the next planning move it. */
export async function lockSlot(
	deed: Deed,
	input: { readonly slotId: number; readonly locked: boolean }
): Promise<Outcome<{ week: IsoWeek }>> {
	const rows = await deed.tx.select().from(slot).where(eq(slot.id, input.slotId));
	const changed = rows[0];
	if (!changed)
		return bad({
			path: 'slot',
			message: 'This slot is not there any more: the week was re-planned.'
		});
	const version = await rememberWeek(
		deed,
		changed.week,
		input.locked ? 'fixed a slot' : 'let planning move a slot'
	);
	await deed.tx.update(slot).set({ locked: input.locked }).where(eq(slot.id, input.slotId));
	await deed.tx.update(weekPlan).set({ version }).where(eq(weekPlan.week, changed.week));
	await note(deed, input.locked ? 'lock slot' : 'unlock slot', null, { ...input });
	return good({ week: changed.week });
}

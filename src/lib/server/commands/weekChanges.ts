import { and, desc, eq, gt, isNull, inArray, ne } from 'drizzle-orm';
import { mapAmounts, type PlanCost } from '#lib/domain/plan/objective.ts';
import type { RoasterMinutes } from '#lib/domain/plan/plan.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { IsoWeek } from '#lib/domain/quantity/time.ts';
import { slot, testBatch, testRoast, weekChange, weekPlan } from '../db/schema.ts';
import { requireSite } from '../store/site.ts';
import { loadSlots, loadWeekChanges, loadWeekPlan, type Slot } from '../store/production.ts';
import type { WeekPlanRow } from '../store/production.ts';
import { momentOf } from '../views/moment.ts';
import { momentShortWords } from '../views/words.ts';
import { note, type Deed } from './act.ts';

/**
 * Acts on a week's plan follow one another by its version. Rules:
 * 1. Each act on a week says which version it has seen; where the plan is further on it is refused, and
 *    told what was done meanwhile and by whom.
 * 2. Each act keeps what it replaces, and the last one that stands can be taken back.
 * 3. Nothing that has happened is taken back: no slot returns to a time that has passed, and none that the
 *    floor has recorded since goes.
 */
export async function changedMeanwhile(
	deed: Deed,
	week: IsoWeek,
	seen: number
): Promise<Problem | null> {
	const version = (await loadWeekPlan(deed.tx, week))?.version ?? 0;
	if (version === seen) return null;
	const { timeZone } = await requireSite(deed.tx);
	const changes = await loadWeekChanges(deed.tx, week, seen);
	const said = changes.map(
		({ by, what, at }) => `${by} ${what} (${momentShortWords(momentOf(at, timeZone))})`
	);
	return {
		path: 'plan',
		message: `It was changed while you were looking: ${said.join('; ') || 'planned anew'}. Nothing of yours is lost: look at it again and save it again.`
	};
}

/**
 * Keeps what an act is about to replace (rule 2). To be called before it writes, with its words.
 * @param stays whether it can't be taken back (rule 3)
 * @returns the version of the plan after the act
 */
export async function rememberWeek(
	deed: Deed,
	week: IsoWeek,
	what: string,
	stays = false
): Promise<number> {
	const [slotsBefore, planBefore] = await Promise.all([
		loadSlots(deed.tx, week),
		loadWeekPlan(deed.tx, week)
	]);
	const version = (planBefore?.version ?? 0) + 1;
	await deed.tx.insert(weekChange).values({
		...{ week, at: deed.now, by: deed.by, what, version },
		...{ slotsBefore, planBefore, undoneAt: stays ? deed.now : null }
	});
	return version;
}

/** What an act by hand changed of a plan's cost and minutes. */
export interface PlanShift {
	readonly cost: { readonly before: PlanCost; readonly after: PlanCost };
	readonly usage: Readonly<Record<'before' | 'after', readonly RoasterMinutes[]>>;
}

/** The plan's row with what an act by hand changed of it; the rest is as it was planned. */
export function shiftedPlan(
	row: WeekPlanRow,
	version: number,
	{ cost, usage }: PlanShift
): WeekPlanRow {
	const minutes = row.usage as readonly RoasterMinutes[];
	return {
		...row,
		version,
		usage: minutes.map((one) => shiftedMinutes(one, usage)),
		cost: row.cost && shiftedCost(row.cost, cost)
	};
}

function shiftedMinutes(one: RoasterMinutes, usage: PlanShift['usage']): RoasterMinutes {
	const of = (when: 'before' | 'after') =>
		usage[when].find(({ roasterId }) => roasterId === one.roasterId);
	const [was, is] = [of('before'), of('after')];
	if (!was || !is) return one;
	return {
		...one,
		productionMin: one.productionMin + is.productionMin - was.productionMin,
		testMin: one.testMin + is.testMin - was.testMin,
		setupMin: one.setupMin + is.setupMin - was.setupMin,
		usedMin: one.usedMin + is.usedMin - was.usedMin
	};
}

function shiftedCost(cost: PlanCost, { before, after }: PlanShift['cost']): PlanCost {
	const moved = (of: 'amounts' | 'parts') =>
		mapAmounts((name) => cost[of][name] + after[of][name] - before[of][name]);
	return {
		amounts: moved('amounts'),
		parts: moved('parts'),
		total: cost.total + after.total - before.total
	};
}

/** Takes back the last act on a week's plan that stands (rules 2 and 3). */
export async function undoWeekChange(
	deed: Deed,
	week: IsoWeek,
	seen: number
): Promise<Outcome<{ what: string }>> {
	const changed = await changedMeanwhile(deed, week, seen);
	if (changed) return bad(changed);
	const last = (
		await deed.tx
			.select()
			.from(weekChange)
			.where(and(eq(weekChange.week, week), isNull(weekChange.undoneAt)))
			.orderBy(desc(weekChange.version))
			.limit(1)
	)[0];
	if (!last) return bad({ path: 'undo', message: 'There is nothing to take back in this week.' });
	const planBefore = last.planBefore as WeekPlanRow | null;
	if (!planBefore)
		return bad({
			path: 'undo',
			message: 'It was the first plan of this week; plan it anew instead.'
		});
	const now = await loadSlots(deed.tx, week);
	const before = await stillWanted(deed, week, last.slotsBefore as readonly Slot[]);
	const problem = before.ok ? pastProblem(now, before.value, deed.now) : before.problems[0]!;
	if (problem || !before.ok) return bad(problem!);
	await deed.tx.delete(slot).where(eq(slot.week, week));
	if (before.value.length > 0) await deed.tx.insert(slot).values([...before.value]);
	await deed.tx
		.update(weekPlan)
		.set({ ...planBefore, version: seen + 1 })
		.where(eq(weekPlan.week, week));
	await deed.tx.update(weekChange).set({ undoneAt: deed.now }).where(eq(weekChange.id, last.id));
	await note(deed, 'undo week change', null, { week, undone: last.what });
	return good({ what: last.what });
}

/** Slots without those of tests that were roasted or withdrawn since; refused where another week has one. */
async function stillWanted(
	{ tx }: Deed,
	week: IsoWeek,
	slots: readonly Slot[]
): Promise<Outcome<readonly Slot[]>> {
	const ids = slots.flatMap(({ testBatchId }) => testBatchId ?? []);
	const [open, roasted, elsewhere] = await Promise.all([
		tx
			.select({ id: testBatch.id })
			.from(testBatch)
			.where(and(inArray(testBatch.id, ids), isNull(testBatch.withdrawnAt))),
		tx
			.select({ id: testRoast.testBatchId })
			.from(testRoast)
			.where(inArray(testRoast.testBatchId, ids)),
		tx
			.select({ week: slot.week })
			.from(slot)
			.where(and(inArray(slot.testBatchId, ids), ne(slot.week, week), gt(slot.endAt, 0)))
	]);
	if (elsewhere.length > 0)
		return bad({
			path: 'undo',
			message: `A test of the earlier plan has its slot in ${elsewhere[0]!.week} now; take that back first, or plan this week anew.`
		});
	const wanted = new Set(open.map(({ id }) => id));
	for (const { id } of roasted) wanted.delete(id);
	const isWanted = ({ testBatchId, recordedAt }: Slot) =>
		testBatchId === null || recordedAt !== null || wanted.has(testBatchId);
	return good(slots.filter(isWanted));
}

function pastProblem(now: readonly Slot[], before: readonly Slot[], nowMs: number): Problem | null {
	const then = new Map(before.map((one) => [one.id, one]));
	if (now.some((one) => one.recordedAt !== null && then.get(one.id)?.recordedAt !== one.recordedAt))
		return {
			path: 'undo',
			message: 'The floor has recorded a batch since then; what has happened is not taken back.'
		};
	const current = new Map(now.map((one) => [one.id, one]));
	const isBack = (one: Slot) => {
		const is = current.get(one.id);
		return !is || is.startAt !== one.startAt || is.roasterId !== one.roasterId;
	};
	if (before.some((one) => one.startAt < nowMs && isBack(one)))
		return {
			path: 'undo',
			message: 'A slot would return to a time that has passed. Move it, or plan the week anew.'
		};
	return null;
}

import { eq } from 'drizzle-orm';
import { leastCost } from '#lib/domain/plan/bound.ts';
import { dispatch } from '#lib/domain/plan/dispatch.ts';
import { costOf } from '#lib/domain/plan/objective.ts';
import type { WeekPlan } from '#lib/domain/plan/plan.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import { isWeek } from '#lib/domain/quantity/week.ts';
import { planSearch } from '../db/schema.ts';
import { isSearching, loadPlanSearch, loadPlanSettings } from '../store/planning.ts';
import { loadWeekProblem, planFromMs } from '../views/planProblem.ts';
import { loadRoastery } from '../views/roastery.ts';
import { note, type Deed } from './act.ts';
import { keepPlan } from './planWeek.ts';

/**
 * The search for a better plan of a week: asked for, stopped, kept or dropped by a person. Rules:
 * 1. It plans from a quarter of an hour ahead, so that there is time to look at what it finds.
 * 2. What it found is kept only while the week's problem is what it was: the problem is made anew and
 *    compared, whole.
 * 3. One search a week at a time; a new one goes by the next seed.
 */
const AHEAD_MS = 15 * 60_000;
const STEPS_PER_SLOT = 5000;
const FEWEST_STEPS = 300_000;
const MOST_STEPS = 3_000_000;

/** Puts the plan by rule in place as the best so far; the caller starts the worker. */
export async function startPlanSearch(
	deed: Deed,
	week: IsoWeek
): Promise<Outcome<{ budget: number }>> {
	if (!isWeek(week))
		return bad({ path: 'week', message: `Found '${week}', expected a week such as 2026-W48.` });
	const before = await loadPlanSearch(deed.tx, week);
	if (before && isSearching(before, deed.now))
		return bad({ path: 'search', message: 'A search for this week is under way already.' });
	const roastery = await loadRoastery(deed.tx, deed.now);
	if (week < roastery.week)
		return bad({ path: 'week', message: `${week} is over; there is nothing to plan.` });
	const fromMs = planFromMs(deed.now + AHEAD_MS);
	const { problem } = await loadWeekProblem(deed.tx, roastery, week, fromMs);
	const { weights } = await loadPlanSettings(deed.tx);
	const planned = dispatch(problem, weights);
	if (!planned.ok) return planned;
	const cost = costOf(problem, planned.value, weights);
	const seed = (before?.seed ?? 0) + 1;
	const budget = budgetFor(planned.value);
	const row = {
		...{ startedAt: deed.now, by: deed.by, seed, budget, steps: 0, problem, weights },
		...{ startCost: cost.total, plan: planned.value, cost },
		course: [{ steps: 0, cost: cost.total }],
		...{
			bound: leastCost(problem, weights),
			stopAsked: false,
			seenAt: deed.now,
			finishedAt: null,
			failure: null
		}
	};
	await deed.tx
		.insert(planSearch)
		.values({ week, ...row })
		.onConflictDoUpdate({ target: planSearch.week, set: row });
	await note(deed, 'search week plan', null, { week, seed, budget });
	return good({ budget });
}

function budgetFor({ slots }: WeekPlan): number {
	return Math.min(MOST_STEPS, Math.max(FEWEST_STEPS, slots.length * STEPS_PER_SLOT));
}

/** Asks the worker to stop; the best so far stays to be looked at. */
export async function stopPlanSearch(deed: Deed, week: IsoWeek): Promise<Outcome<null>> {
	const search = await loadPlanSearch(deed.tx, week);
	if (!search || search.finishedAt !== null) return good(null);
	const isGone = !isSearching(search, deed.now);
	await deed.tx
		.update(planSearch)
		.set({ stopAsked: true, ...(isGone ? { finishedAt: deed.now } : {}) })
		.where(eq(planSearch.week, week));
	await note(deed, 'stop week plan search', null, { week, steps: search.steps });
	return good(null);
}

/**
 * Makes the best plan found the plan of the week (rule 2), after the independent check.
 * @param startedAt of the search that was looked at
 */
export async function keepFoundPlan(
	deed: Deed,
	week: IsoWeek,
	startedAt: InstantMs
): Promise<Outcome<{ slots: number; unplaced: number }>> {
	const search = await loadPlanSearch(deed.tx, week);
	if (!search || search.startedAt !== startedAt)
		return bad({
			path: 'search',
			message: 'The plan you looked at is not there any more: another search took its place.'
		});
	const { problem: then, plan, weights } = search;
	if (then.fromMs < deed.now)
		return bad({
			path: 'search',
			message: 'It plans from a time that has passed meanwhile. Search again, and keep it sooner.'
		});
	const roastery = await loadRoastery(deed.tx, deed.now);
	const { problem, unservable } = await loadWeekProblem(deed.tx, roastery, week, then.fromMs);
	if (JSON.stringify(problem) !== JSON.stringify(then))
		return bad({
			path: 'search',
			message:
				'Orders, tests, stock, shifts or fixed slots have changed since the search began. Search again to take them in.'
		});
	const kept = await keepPlan(
		deed,
		week,
		{ problem, unservable, plan, weights },
		'kept the plan that the search found'
	);
	if (!kept.ok) return kept;
	await deed.tx.delete(planSearch).where(eq(planSearch.week, week));
	const { seed, steps } = search;
	await note(deed, 'keep found week plan', null, { week, seed, steps, ...kept.value });
	return kept;
}

/** Forgets what was found. */
export async function dropFoundPlan(deed: Deed, week: IsoWeek): Promise<Outcome<null>> {
	await deed.tx.delete(planSearch).where(eq(planSearch.week, week));
	await note(deed, 'drop found week plan', null, { week });
	return good(null);
}

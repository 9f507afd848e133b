/**
 * Betters the plan of a week step by step and keeps the best so far in the database. Rules:
 * 1. What it finds depends on the problem, the seed and the steps alone; only when it is told to stop is a
 *    matter of time.
 * 2. It writes at most every `pauseMs`, in one short update; between writes it holds no lock.
 * 3. It stops at its budget, when it is asked to, and when the search was dropped or replaced.
 */
import { and, eq } from 'drizzle-orm';
import { better, type Bettering } from '#lib/domain/plan/better.ts';
import { costOf } from '#lib/domain/plan/objective.ts';
import type { Database } from '../db/client.ts';
import { planSearch } from '../db/schema.ts';
import { loadPlanSearch, type PlanSearch } from '../store/planning.ts';

export interface SearchWork {
	readonly database: Database;
	readonly week: string;
	/** UTC milliseconds. */
	readonly clock: () => number;
	readonly pauseMs?: number;
	/** Asked between chunks of steps: true stops there. */
	readonly shouldStop?: () => boolean;
}

const CHUNK = 2000;
/** A change smaller than this is none, roaster minutes. */
const LEAST_GAIN = 0.001;

/** Resolves when the search has ended, for whatever reason. */
export async function searchWeek(work: SearchWork): Promise<void> {
	const { database, week, clock, pauseMs = 500 } = work;
	const search = await loadPlanSearch(database.orm, week);
	if (!search || search.finishedAt !== null) return;
	const outcome = better(search.problem, search.weights, search.seed);
	if (!outcome.ok) return end(work, search, { failure: outcome.problems[0]!.message });
	const run = outcome.value;
	const course = [...search.course];
	let keptCost = search.cost.total;
	for (let writtenAt = clock(); ;) {
		run.run(Math.min(CHUNK, search.budget - run.steps));
		const isDone = run.steps >= search.budget || (work.shouldStop?.() ?? false);
		if (isDone || clock() - writtenAt >= pauseMs) {
			const found = run.cost < keptCost - LEAST_GAIN ? foundBy(search, run) : null;
			if (found) {
				keptCost = found.cost.total;
				course.push({ steps: run.steps, cost: keptCost });
			}
			const isAsked = await write(work, search, { ...found, steps: run.steps, course });
			if (isDone || isAsked) return end(work, search, {});
			writtenAt = clock();
		}
		// Lets a message that asks to stop come in.
		await new Promise((resolve) => setImmediate(resolve));
	}
}

function foundBy({ problem, weights }: PlanSearch, run: Bettering) {
	const plan = run.plan();
	return { plan, cost: costOf(problem, plan, weights) };
}

/** Writes where it stands; true where it is to stop. */
function write(
	{ database, clock }: SearchWork,
	search: PlanSearch,
	set: Partial<PlanSearch>
): Promise<boolean> {
	return database.write(async (tx) => {
		const rows = await tx
			.update(planSearch)
			.set({ ...set, seenAt: clock() })
			.where(isSame(search))
			.returning({ stopAsked: planSearch.stopAsked });
		return rows[0]?.stopAsked ?? true;
	});
}

async function end(
	{ database, clock }: SearchWork,
	search: PlanSearch,
	set: Partial<PlanSearch>
): Promise<void> {
	await database.write((tx) =>
		tx
			.update(planSearch)
			.set({ ...set, finishedAt: clock() })
			.where(isSame(search))
	);
}

function isSame({ week, startedAt }: PlanSearch) {
	return and(eq(planSearch.week, week), eq(planSearch.startedAt, startedAt));
}

/**
 * Betters the plan of a week step by step and keeps the best so far in the database. Rules:
 * 1. What it finds depends on the problem, the seed and the steps alone; only when it is told to stop is a
 *    matter of time.
 * 2. It writes at most every `pauseMs`, in one short update; between writes it holds no lock.
 * 3. It stops at its budget, when it is asked to, and when the search was dropped or replaced.
 * 4. Where the proof of a least cost is under way, it waits for it after its budget; a plan that costs what
 *    no plan goes below is the best, and ends the search.
 */
import { and, eq } from 'drizzle-orm';
import { better, type Bettering } from '#lib/domain/plan/better.ts';
import { costOf, isLeast, type PlanBound } from '#lib/domain/plan/objective.ts';
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
	/** Starts the proof of a least cost; null where the week is too large for one. */
	readonly prove?: (search: PlanSearch) => Proof | null;
}

/** A proof under way. */
export interface Proof {
	/** Null where none was found. */
	readonly bound: Promise<PlanBound | null>;
	stop(): void;
}

const CHUNK = 2000;
/** A change smaller than this is none, roaster minutes. */
const LEAST_GAIN = 0.001;
/** Between looks at the proof, once the steps are done. */
const WAIT_MS = 50;

/** Resolves when the search has ended, for whatever reason. */
export async function searchWeek(work: SearchWork): Promise<void> {
	const { database, week, clock, pauseMs = 500 } = work;
	const search = await loadPlanSearch(database.orm, week);
	if (!search || search.finishedAt !== null) return;
	const outcome = better(search.problem, search.weights, search.seed);
	if (!outcome.ok) return end(work, search, { failure: outcome.problems[0]!.message });
	const run = outcome.value;
	const course = [...search.course];
	const proof = proofOf(work, search);
	let keptCost = search.cost.total;
	for (let writtenAt = clock(); ;) {
		const isOver = run.steps >= search.budget;
		if (!isOver) run.run(Math.min(CHUNK, search.budget - run.steps));
		const isBest = isLeast(Math.min(keptCost, run.cost), proof.bound);
		const isDone =
			isBest || (run.steps >= search.budget && !proof.isPending) || (work.shouldStop?.() ?? false);
		if (isDone || clock() - writtenAt >= pauseMs) {
			const found = run.cost < keptCost - LEAST_GAIN ? foundBy(search, run) : null;
			if (found) {
				keptCost = found.cost.total;
				course.push({ steps: run.steps, cost: keptCost });
			}
			const set = { ...found, steps: run.steps, course, bound: proof.bound };
			const isAsked = await write(work, search, set);
			if (isDone || isAsked) {
				proof.stop();
				return end(work, search, {});
			}
			writtenAt = clock();
		}
		// Lets a message that asks to stop come in.
		await new Promise((resolve) => (isOver ? setTimeout(resolve, WAIT_MS) : setImmediate(resolve)));
	}
}

/** The bound as it stands: that of the start until the proof is there, and then the higher one. */
function proofOf({ prove }: SearchWork, search: PlanSearch) {
	const proof = prove?.(search) ?? null;
	const state = {
		bound: search.bound,
		isPending: proof !== null,
		stop: () => proof?.stop()
	};
	void proof?.bound.then((bound) => {
		state.isPending = false;
		if (bound && bound.least > (state.bound?.least ?? -Infinity)) state.bound = bound;
	});
	return state;
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

import type { PlanWeights } from '#lib/domain/plan/objective.ts';
import type { StandingPlan } from '#lib/domain/plan/move.ts';
import type { Unplaced } from '#lib/domain/plan/plan.ts';
import type { PlanProblem } from '#lib/domain/plan/problem.ts';
import type { InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import type { Reader } from '../db/client.ts';
import { loadPlanSettings } from '../store/planning.ts';
import { loadWeekPlan, type Slot, type WeekPlanRow } from '../store/production.ts';
import { loadTests } from '../store/tests.ts';
import { loadWeekProblem } from './planProblem.ts';
import type { Roastery } from './roastery.ts';
import { namesOf, type Names } from './week.ts';

/** A week's plan as it stands, in the planner's terms: what a move by hand starts from. */
export interface WeekStanding {
	readonly problem: PlanProblem;
	/** Every slot of the week, as it is stored. */
	readonly rows: readonly Slot[];
	/** The same slots in the same order, for the planner. */
	readonly plan: StandingPlan;
	readonly weights: PlanWeights;
	/** Null while the week was never planned. */
	readonly row: WeekPlanRow | null;
	readonly names: Names;
}

/**
 * The week's slots with the problem that those to come answer.
 * @param freed numbers of slots that may move although somebody fixed them
 */
export async function loadStanding(
	db: Reader,
	roastery: Roastery,
	week: IsoWeek,
	freed: readonly number[],
	earliestMs?: InstantMs
): Promise<WeekStanding> {
	const { problem, standing } = await loadWeekProblem(db, roastery, week, earliestMs, freed);
	const [{ weights }, row, tests] = await Promise.all([
		loadPlanSettings(db),
		loadWeekPlan(db, week),
		loadTests(db)
	]);
	return {
		problem,
		rows: standing.map((one) => one.row),
		plan: {
			slots: standing.map(({ row, slot: { traits, ...slot } }) => ({
				...{ slot, traits },
				locked: !freed.includes(row.id) && (row.locked || row.startAt < problem.fromMs)
			})),
			unplaced: (row?.unplaced ?? []) as readonly Unplaced[]
		},
		...{ weights, row, names: namesOf(roastery, tests) }
	};
}

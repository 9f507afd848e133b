import { createHash } from 'node:crypto';
import {
	figuresOf,
	leftOver,
	valueOf,
	type Counted,
	type Figure,
	type PlanFigure
} from '#lib/domain/plan/compare.ts';
import { checkPlan } from '#lib/domain/plan/check.ts';
import type { DayHours } from '#lib/domain/plan/hours.ts';
import { clashingFixed, mendPlan, type Stood } from '#lib/domain/plan/mend.ts';
import { consequenceOf, type Clash } from '#lib/domain/plan/move.ts';
import type { PlanWeights } from '#lib/domain/plan/objective.ts';
import type { Slot as PlannedSlot, WeekPlan } from '#lib/domain/plan/plan.ts';
import { dayHoursOf, notYetIn, type WhatIf } from '#lib/domain/plan/whatIf.ts';
import { good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import type { Reader } from '../../db/client.ts';
import { loadPlanSettings, loadUsualWeek } from '../../store/planning.ts';
import { loadWeekPlan, slotRow, type Slot } from '../../store/production.ts';
import { loadCostRules } from '../costing.ts';
import { loadWeekProblem, planFromMs, type WeekProblem } from '../planProblem.ts';
import { loadRoastery, type Roastery } from '../roastery.ts';
import { moneyOf, type MoneyFigure } from './money.ts';

/**
 * A what-if worked out and not done. Rules:
 * 1. Beside each other stand the plan as it stands, never a fresh one, and that plan mended to the records as
 *    they would be (domain/plan/mend.ts).
 * 2. Where the change leaves the week's problem as it is, nothing is planned: the slots are the same.
 * 3. A third plan, mended by the same way to the records as they are, says how much of a difference would come
 *    from planning alone.
 * 4. Both chances of release are the exact ones of domain/demand/ready.ts, with the records and the slots of
 *    their side.
 * 5. The same records, changes, first start and way give the same plan; its digest names it.
 */
export interface Asked {
	readonly week: IsoWeek;
	readonly changes: readonly WhatIf[];
	/** Whether a search goes on from the mended plan. */
	readonly searches: boolean;
	/** Nothing new starts before this. */
	readonly fromMs: InstantMs;
}

/** One side of the comparison. */
export interface Side {
	readonly roastery: Roastery;
	readonly made: WeekProblem;
	/** Slots ahead with their setups. */
	readonly slots: readonly PlannedSlot[];
	readonly figures: readonly Figure<PlanFigure>[];
	readonly money: readonly Figure<MoneyFigure>[];
}

export interface WorkedOut {
	readonly asked: Asked;
	readonly weights: PlanWeights;
	/** Of the plan as it stands. */
	readonly version: number;
	readonly before: Side;
	readonly after: Side;
	/** Null where planning alone changes no figure. */
	readonly control: Pick<Side, 'figures' | 'money'> | null;
	/** Null where the change leaves the week's slots as they are. */
	readonly plan: WeekPlan | null;
	/** Slots that do not stay although they are fixed or about to start. */
	readonly freed: readonly Slot[];
	/** Hours of single days that are not on record yet. */
	readonly newHours: readonly DayHours[];
	/** Rules that slots break as they stand, by their place in `before.slots`. */
	readonly clashes: readonly Clash[];
	/** Rules of check.ts that the plan with the change breaks: only through slots fixed where they no longer can be. */
	readonly broken: readonly Problem[];
	/** What can't be costed. */
	readonly uncosted: readonly Problem[];
	readonly digest: string;
}

/** Steps of the search: about half a second. */
export const SEARCH_STEPS = 40_000;
const SEED = 1;
/** Time to look at what was worked out and to keep it. */
const AHEAD_MS = 10 * 60_000;

/** The first start of a what-if asked for now. */
export function whatIfFromMs(now: InstantMs): InstantMs {
	return planFromMs(now + AHEAD_MS);
}

/** Works it out; null while the week has no plan to start from. */
export async function workOutWhatIf(
	db: Reader,
	now: InstantMs,
	asked: Asked
): Promise<Outcome<WorkedOut | null>> {
	const { week, changes, fromMs } = asked;
	const [roastery, row, { weights }, { days = [] }] = await Promise.all([
		loadRoastery(db, now),
		loadWeekPlan(db, week),
		loadPlanSettings(db),
		loadUsualWeek(db)
	]);
	if (!row) return good(null);
	const made = await loadWeekProblem(db, roastery, week, fromMs);
	const stood = standingOf(made);
	const standing = consequenceOf(made.problem, NOTHING, stood.slots, weights);
	const supposed = await loadRoastery(db, now, { week, changes, slots: null });
	const { changed, freed } = await changedProblem(db, now, supposed, asked, made, weights);
	const isSame = JSON.stringify(changed.problem) === JSON.stringify(made.problem);
	const how = { weights, seed: SEED, steps: asked.searches ? SEARCH_STEPS : 0 };
	const planned = isSame ? null : mendPlan(changed.problem, stood, how);
	const alone = isSame ? null : mendPlan(made.problem, stood, how);
	if (planned && !planned.ok) return planned;
	const plan = planned && planned.value;
	const broken = plan ? checkPlan(changed.problem, plan) : [];
	if (broken.length > 0 && clashingFixed(changed.problem, weights).length === 0)
		throw new Error(
			`A what-if of ${week} breaks a rule: ${broken[0]!.path}: ${broken[0]!.message}`
		);
	const slots = plan ? plan.slots : standing.after;
	const rules = await loadCostRules(db, roastery.site);
	const sideOf = (of: Roastery, problem: WeekProblem, own: readonly PlannedSlot[]) => {
		const { problem: its, unservable } = problem;
		const counted: Counted = { problem: its, slots: own, unservable, weights };
		const left = [...leftOver(counted), ...unservable];
		const { needs, products } = of;
		const spending = { problem: its, slots: own, left, needs, products, week };
		const { figures: money, problems } = moneyOf(spending, rules);
		return { figures: figuresOf(counted), money, uncosted: problems };
	};
	const first = sideOf(roastery, made, standing.after);
	const second = sideOf(supposed, changed, slots);
	const third = alone?.ok ? sideOf(roastery, made, alone.value.slots) : null;
	const settled = plan
		? await loadRoastery(db, now, { week, changes, slots: rowsWith(week, made, fromMs, plan) })
		: supposed;
	return good({
		...{ asked, weights, version: row.version, plan, freed, clashes: standing.clashes },
		before: { roastery, made, slots: standing.after, ...first },
		after: { roastery: settled, made: changed, slots, ...second },
		control: third && !isAlike(first, third) ? third : null,
		...{ broken, uncosted: second.uncosted },
		newHours: notYetIn(days, changes.flatMap(dayHoursOf)),
		digest: digestOf(asked, plan)
	});
}

const NOTHING = { slots: [], unplaced: [] };

/** What of the week's slots the plan still has in hand. */
function standingOf({ problem, standing }: WeekProblem): Stood {
	const ahead = standing.filter(({ row }) => row.endAt > problem.fromMs && row.recordedAt === null);
	return {
		problem,
		slots: ahead.map(({ row, slot: { traits, ...slot } }) => ({
			...{ slot, traits },
			locked: row.locked || row.startAt < problem.fromMs
		}))
	};
}

/** The problem with the changes; what can no longer stay where it is fixed is freed. */
async function changedProblem(
	db: Reader,
	now: InstantMs,
	supposed: Roastery,
	{ week, changes, fromMs }: Asked,
	before: WeekProblem,
	weights: PlanWeights
): Promise<{ readonly changed: WeekProblem; readonly freed: readonly Slot[] }> {
	const clashed = clashesOfFixed(before, weights);
	const freed: Slot[] = [];
	for (;;) {
		const ids = freed.map(({ id }) => id);
		const changed = await loadWeekProblem(db, supposed, week, fromMs, ids, changes);
		const more = clashesOfFixed(changed, weights).filter(
			(row) => row.startAt >= now && !clashed.some(({ id }) => id === row.id)
		);
		if (more.length === 0) return { changed, freed };
		freed.push(...more);
	}
}

/** Rows of the fixed slots that break a rule where they are. */
function clashesOfFixed({ problem, standing }: WeekProblem, weights: PlanWeights): readonly Slot[] {
	return clashingFixed(problem, weights).flatMap((index) => {
		const { roasterId, startMs } = problem.locked[index]!;
		const found = standing.find(
			({ row }) => row.roasterId === roasterId && row.startAt === startMs && row.recordedAt === null
		);
		return found ? [found.row] : [];
	});
}

/** The week's rows with the plan's slots in the place of those ahead. */
function rowsWith(
	week: IsoWeek,
	{ standing }: WeekProblem,
	fromMs: InstantMs,
	plan: WeekPlan
): readonly Slot[] {
	const stay = standing
		.map(({ row }) => row)
		.filter(({ endAt, recordedAt }) => endAt <= fromMs || recordedAt !== null);
	return [...stay, ...plan.slots.map((slot, i): Slot => ({ ...slotRow(week, slot), id: -1 - i }))];
}

/** Whether every figure comes to the same. */
function isAlike(a: Pick<Side, 'figures' | 'money'>, b: Pick<Side, 'figures' | 'money'>): boolean {
	const same = (one: readonly Figure[], other: readonly Figure[]) =>
		one.every((figure, i) => Math.abs(valueOf(figure) - valueOf(other[i]!)) < 1e-6);
	return same(a.figures, b.figures) && same(a.money, b.money);
}

function digestOf({ changes, fromMs }: Asked, plan: WeekPlan | null): string {
	const what = JSON.stringify([changes, plan && [fromMs, plan.slots]]);
	return createHash('sha256').update(what).digest('hex').slice(0, 16);
}

import { good, type Outcome } from '../quantity/problem.ts';
import { better } from './better.ts';
import { dispatch } from './dispatch.ts';
import { consequenceOf } from './move.ts';
import { costOf, type PlanWeights } from './objective.ts';
import type { Slot, WeekPlan } from './plan.ts';
import { needKey, type LockedSlot, type PlanProblem, type SlotFacts } from './problem.ts';
import { MINUTE_MS, type Placed } from './timeline.ts';

/**
 * A plan bent to a problem that has changed. Rules:
 * 1. A slot stays where it is when its need asks for as much as before on the same roasters and it breaks no
 *    rule of check.ts there.
 * 2. What is left is planned around them by the rule of dispatch.ts.
 * 3. With steps, a search (better.ts) goes on from the cheaper of that and of the week planned anew by rule: it
 *    may move everything that is not fixed, and costs never more than either.
 */

/** What stood before: the problem and the slots that are still ahead, fixed ones too. */
export interface Stood {
	readonly problem: PlanProblem;
	readonly slots: readonly Placed[];
}

export interface Mending {
	readonly weights: PlanWeights;
	/** Steps of the search; 0 for none. */
	readonly steps: number;
	readonly seed: number;
}

/** The mended plan; fails with everything that makes the changed problem unfit to plan. */
export function mendPlan(
	problem: PlanProblem,
	stood: Stood,
	{ weights, steps, seed }: Mending
): Outcome<WeekPlan> {
	const mended = aroundThose(problem, staying(problem, stood, weights), weights);
	if (!mended.ok || steps === 0) return mended;
	const ruled = dispatch(problem, weights);
	if (!ruled.ok) return ruled;
	const [a, b] = [mended.value, ruled.value];
	const cost = (plan: WeekPlan) => costOf(problem, plan, weights).total;
	const search = better(problem, weights, seed, cost(a) <= cost(b) ? a : b);
	if (!search.ok) return search;
	search.value.run(steps);
	return good(search.value.plan());
}

/** Fixed slots that break a rule of check.ts where they are, by their place in the problem's list. */
export function clashingFixed(problem: PlanProblem, weights: PlanWeights): readonly number[] {
	return clashing(problem, problem.locked.map(asPlaced(true)), weights);
}

/** Rule 1. */
function staying(problem: PlanProblem, stood: Stood, weights: PlanWeights): readonly LockedSlot[] {
	const fixed = problem.locked.map(asPlaced(true));
	let kept = stood.slots.flatMap((one) => stillWanted(problem, stood.problem, one) ?? []);
	for (;;) {
		const all = [...fixed, ...kept.map(asPlaced(false))];
		const clashes = new Set(clashing(problem, all, weights).map((i) => i - fixed.length));
		const rest = kept.filter((_, i) => !clashes.has(i));
		if (rest.length === kept.length) return kept;
		kept = rest;
	}
}

function clashing(
	problem: PlanProblem,
	slots: readonly Placed[],
	weights: PlanWeights
): readonly number[] {
	const none = { slots: [], unplaced: [] };
	return consequenceOf(problem, none, slots, weights).clashes.map(({ index }) => index);
}

const asPlaced =
	(locked: boolean) =>
	(slot: LockedSlot): Placed => ({ slot, traits: slot.traits, locked });

/** The slot for the need it has now; null where that is another than it was. */
function stillWanted(
	problem: PlanProblem,
	before: PlanProblem,
	{ slot, locked }: Placed
): LockedSlot | null {
	const roaster = problem.roasters.find(({ id }) => id === slot.roasterId);
	const need = needOf(problem, slot);
	if (locked || !roaster || !need) return null;
	const isSame = JSON.stringify(asked(need)) === JSON.stringify(asked(needOf(before, slot)));
	if (!isSame || slot.endMs - slot.startMs !== roaster.cycleMin * MINUTE_MS) return null;
	const { decaf, certifiedOrganic, shade, flavoured = false } = need;
	const { kind, roasterId, startMs, endMs, lotId, productId, testBatchId, chargeG } = slot;
	return {
		...{ kind, roasterId, startMs, endMs, lotId, productId, testBatchId, chargeG },
		dueMs: need.dueMs,
		traits: { decaf, certifiedOrganic, shade, flavoured }
	};
}

function needOf({ production, tests }: PlanProblem, slot: SlotFacts) {
	return slot.kind === 'test'
		? tests.find(({ testBatchId }) => testBatchId === slot.testBatchId)
		: production.find(
				({ lotId, productId }) => lotId === slot.lotId && productId === slot.productId
			);
}

/** What of a need says how many batches it takes and where. */
function asked(need: ReturnType<typeof needOf>): unknown {
	if (!need) return null;
	return 'greenG' in need ? [need.greenG, need.roasterIds ?? null] : [need.chargeG, need.roasterId];
}

/** Rule 2: those that stay are fixed while the rest is planned. */
function aroundThose(
	problem: PlanProblem,
	kept: readonly LockedSlot[],
	weights: PlanWeights
): Outcome<WeekPlan> {
	const around = { ...problem, locked: [...problem.locked, ...kept] };
	const planned = dispatch(around, weights);
	if (!planned.ok) return planned;
	const places = new Set(kept.map(placeOf));
	const slots = planned.value.slots.map((slot): Slot => {
		if (!slot.locked || !places.has(placeOf(slot))) return slot;
		const [due = ''] = slot.why;
		return { ...slot, locked: false, why: [due, 'Stays where it was planned before.'] };
	});
	return good({ ...planned.value, slots });
}

function placeOf(slot: SlotFacts): string {
	return `${slot.roasterId}/${slot.startMs}/${needKey(slot)}/${slot.testBatchId}`;
}

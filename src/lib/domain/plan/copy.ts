import { formatKg } from '../quantity/mass.ts';
import type { InstantMs } from '../quantity/time.ts';
import { consequenceOf, type StandingPlan } from './move.ts';
import { USUAL_WEIGHTS } from './objective.ts';
import type { LockedSlot, PlanProblem } from './problem.ts';
import { MINUTE_MS } from './timeline.ts';

/**
 * Slots of another week put into this one where their needs still are. Rules:
 * 1. A slot is for what the week still needs of its lot for its product, and no more than that.
 * 2. It keeps every rule of check.ts beside those that are there already; the earlier one goes first.
 * 3. Tests are not copied: a test is roasted once.
 */
export interface Wish {
	readonly kind: 'production' | 'test';
	readonly roasterId: number;
	readonly startMs: InstantMs;
	readonly lotId: number;
	readonly productId: number | null;
	readonly chargeG: number;
}

export interface Copied {
	readonly slots: readonly LockedSlot[];
	/** Wishes that can't be met, by their place in the list; the text continues the slot's name. */
	readonly left: readonly { readonly index: number; readonly text: string }[];
}

/** The wishes that can be met, in the order given. */
export function copySlots(problem: PlanProblem, wishes: readonly Wish[]): Copied {
	const slots: LockedSlot[] = [];
	const left: { index: number; text: string }[] = [];
	for (const [index, wish] of wishes.entries()) {
		const met = meet(problem, wish, slots);
		if (typeof met === 'string') left.push({ index, text: met });
		else slots.push(met);
	}
	return { slots, left };
}

/** The slot, or why it can't be. */
function meet(
	problem: PlanProblem,
	wish: Wish,
	before: readonly LockedSlot[]
): LockedSlot | string {
	const roaster = problem.roasters.find(({ id }) => id === wish.roasterId);
	if (!roaster) return 'ran on a roaster that is not there any more';
	if (wish.kind === 'test') return 'was a test, which is roasted once';
	const need = problem.production.find(
		({ lotId, productId }) => lotId === wish.lotId && productId === wish.productId
	);
	if (!need) return 'is not needed by the orders of this week';
	const heldG = [...problem.locked, ...before]
		.filter(({ lotId, productId }) => lotId === need.lotId && productId === need.productId)
		.reduce((sum, { chargeG }) => sum + chargeG, 0);
	const chargeG = Math.min(wish.chargeG, need.greenG - heldG);
	if (chargeG < roaster.minChargeG)
		return `is not needed: ${formatKg(Math.max(0, need.greenG - heldG))} are left to plan, ${roaster.name} takes ${formatKg(roaster.minChargeG)} or more`;
	const { lotId, productId, dueMs, decaf, certifiedOrganic, shade, flavoured = false } = need;
	const slot: LockedSlot = {
		...{ kind: 'production', roasterId: roaster.id, lotId, productId, testBatchId: null },
		...{ startMs: wish.startMs, endMs: wish.startMs + roaster.cycleMin * MINUTE_MS },
		...{ chargeG, dueMs, traits: { decaf, certifiedOrganic, shade, flavoured } }
	};
	const standing: StandingPlan = {
		slots: [
			...problem.locked.map((one) => ({ slot: one, traits: one.traits, locked: true })),
			...before.map((one) => ({ slot: one, traits: one.traits, locked: false }))
		],
		unplaced: []
	};
	const after = [...standing.slots, { slot, traits: slot.traits, locked: false }];
	const [clash] = consequenceOf(problem, standing, after, USUAL_WEIGHTS).clashes;
	return clash ? clash.text : slot;
}

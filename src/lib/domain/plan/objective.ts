import type { Slot, WeekPlan } from './plan.ts';
import { regularEndOf, type PlanProblem, type Window } from './problem.ts';

/**
 * What a plan costs, in the words of whoever plans. One currency for all of it: roaster minutes. A weight
 * says how many minutes of a roaster something is worth avoiding. Rules:
 * 1. A slot that ends after it is due is late, by its whole charge, for as long as it ends after that.
 * 2. Setups count in minutes, by kind; each changeover or cleaning counts once more, for the attention.
 * 3. Overtime of a window is from the end of its regular time to the end of its last slot.
 * 4. What has no slot counts by mass, and by test.
 * 5. Locked slots count as all others do: what a person fixed has its price too.
 * 6. Slots that started before the plan does count for nothing.
 */
export interface PlanWeights {
	/** Each roaster minute in use, batches and setups alike. */
	readonly minuteInUse: number;
	/** Each minute of cleaning, beyond the roaster's minute. */
	readonly cleaningMin: number;
	/** Each changeover or cleaning, beyond its minutes. */
	readonly changeover: number;
	/** Each minute of overtime, beyond the roaster's minute. */
	readonly overtimeMin: number;
	/** Each kilogram of green coffee that is late at all. */
	readonly lateKg: number;
	/** Each kilogram of green coffee, for each day it is late. */
	readonly lateKgDay: number;
	/** Each test that is late at all. */
	readonly lateTest: number;
	/** Each test, for each day it is late. */
	readonly lateTestDay: number;
	/** Each kilogram of green coffee without a slot. */
	readonly unplacedKg: number;
	/** Each test without a slot. */
	readonly unplacedTest: number;
}

/**
 * Weights to start from: common practice, no source. A kilogram left out is worse than one a week late, a
 * test left out worse than one a few days late.
 */
export const USUAL_WEIGHTS: PlanWeights = {
	minuteInUse: 1,
	cleaningMin: 1,
	changeover: 5,
	overtimeMin: 2,
	lateKg: 1,
	lateKgDay: 4,
	lateTest: 30,
	lateTestDay: 90,
	unplacedKg: 40,
	unplacedTest: 900
};

/** Everything about a plan that a weight is put on; amounts in the unit their name says. */
export type PlanAmounts = Readonly<Record<keyof PlanWeights, number>>;

export interface PlanCost {
	readonly amounts: PlanAmounts;
	/** Roaster minutes each amount is worth; they sum to the total. */
	readonly parts: PlanAmounts;
	/** Roaster minutes. */
	readonly total: number;
}

/** A cost that no plan of the problem can go below, proven. */
export interface PlanBound {
	/** Roaster minutes. */
	readonly least: number;
	/** What proves it, for a person. */
	readonly because: string;
}

/** Closer than this to what no plan goes below, roaster minutes, is there: solver and plan round. */
const CLOSE_MIN = 0.01;

/** Whether no plan can cost less, as far as a bound proves it. */
export function isLeast(cost: number, bound: PlanBound | null): boolean {
	return bound !== null && cost <= bound.least + CLOSE_MIN;
}

const MS_PER_MIN = 60_000;
const MS_PER_DAY = 86_400_000;
const G_PER_KG = 1000;

/** What of a plan costs something. */
export interface Costed {
	readonly slots: readonly Slot[];
	readonly unplaced: readonly Pick<WeekPlan['unplaced'][number], 'kind' | 'greenG'>[];
}

/** The exact cost of a plan of this problem. */
export function costOf(problem: PlanProblem, plan: Costed, weights: PlanWeights): PlanCost {
	return weigh(amountsOf(problem, plan), weights);
}

/** What the amounts are worth under the weights. */
export function weigh(amounts: PlanAmounts, weights: PlanWeights): PlanCost {
	const parts = mapAmounts((name) => amounts[name] * weights[name]);
	return { amounts, parts, total: Object.values(parts).reduce((sum, part) => sum + part, 0) };
}

/** What the weights are put on, counted from the plan. */
export function amountsOf(problem: PlanProblem, plan: Costed): PlanAmounts {
	const slots = plan.slots.filter(({ startMs }) => startMs >= problem.fromMs);
	const setups = slots.flatMap(({ setup }) => setup);
	const cleanings = setups.filter(({ kind }) => kind === 'cleaning');
	const late = slots.filter(({ endMs, dueMs }) => endMs > dueMs);
	const lateBatches = late.filter(({ kind }) => kind === 'production');
	const lateTests = late.filter(({ kind }) => kind === 'test');
	const unplaced = plan.unplaced;
	return {
		minuteInUse: sumOf(setups, ({ minutes }) => minutes) + sumOf(slots, minutesOf),
		cleaningMin: sumOf(cleanings, ({ minutes }) => minutes),
		changeover: setups.filter(({ kind }) => kind !== 'warm-up').length,
		overtimeMin: sumOf(problem.windows, (window) => overtimeIn(window, slots)),
		lateKg: sumOf(lateBatches, ({ chargeG }) => chargeG) / G_PER_KG,
		lateKgDay: sumOf(lateBatches, (slot) => (slot.chargeG / G_PER_KG) * daysLate(slot)),
		lateTest: lateTests.length,
		lateTestDay: sumOf(lateTests, daysLate),
		unplacedKg:
			sumOf(unplaced, ({ kind, greenG }) => (kind === 'production' ? greenG : 0)) / G_PER_KG,
		unplacedTest: unplaced.filter(({ kind }) => kind === 'test').length
	};
}

/** A number for each amount. */
export function mapAmounts(of: (name: keyof PlanWeights) => number): PlanAmounts {
	const names = Object.keys(USUAL_WEIGHTS) as (keyof PlanWeights)[];
	return Object.fromEntries(names.map((name) => [name, of(name)])) as PlanAmounts;
}

function minutesOf({ startMs, endMs }: Slot): number {
	return (endMs - startMs) / MS_PER_MIN;
}

function daysLate({ endMs, dueMs }: Slot): number {
	return (endMs - dueMs) / MS_PER_DAY;
}

function overtimeIn(window: Window, slots: readonly Slot[]): number {
	const regularEndMs = regularEndOf(window);
	if (regularEndMs === window.endMs) return 0;
	const ends = slots
		.filter(
			({ roasterId, startMs, endMs }) =>
				roasterId === window.roasterId && startMs >= window.startMs && endMs <= window.endMs
		)
		.map(({ endMs }) => endMs);
	return Math.max(0, Math.max(...ends, regularEndMs) - regularEndMs) / MS_PER_MIN;
}

function sumOf<T>(items: readonly T[], of: (item: T) => number): number {
	return items.reduce((sum, item) => sum + of(item), 0);
}

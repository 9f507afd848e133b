import { formatKg } from '../quantity/mass.ts';
import type { InstantMs } from '../quantity/time.ts';
import { checkPlan } from './check.ts';
import { costOf, type Costed, type PlanCost, type PlanWeights } from './objective.ts';
import type { RoasterMinutes, Setup, Slot } from './plan.ts';
import type { PlanProblem, Roaster, SlotFacts } from './problem.ts';
import { finishPlan } from './reasons.ts';
import { sayInstant, sayMinutes } from './say.ts';
import { MINUTE_MS, earliestFit, timelineOf, type Placed } from './timeline.ts';
import { limitsOf } from './unplaced.ts';

/**
 * A slot put elsewhere by hand, and what follows from it before anybody agrees to it. Rules:
 * 1. The slot starts when and where it is put, for a cycle of that roaster.
 * 2. What nobody fixed gives way: each later slot of the two roasters, and one that runs into the moved
 *    one, keeps its start or takes the next that fits. Earlier and fixed slots stay.
 * 3. What finds no room stays where it was, and clashes.
 * 4. A clash is a rule of check.ts that was kept before and is broken now. With one the move can't be made.
 * 5. Late and dearer is allowed, and said: the cost is the exact one of objective.ts, before and after.
 */
export interface Move {
	/** Place of the slot in the list of slots. */
	readonly index: number;
	readonly roasterId: number;
	readonly startMs: InstantMs;
}

/** What a plan holds as it stands: its slots, and what has none. */
export interface StandingPlan {
	readonly slots: readonly Placed[];
	readonly unplaced: Costed['unplaced'];
}

export interface Clash {
	/** Place of the slot in the list of slots. */
	readonly index: number;
	/** Continues the slot's name: `overlaps the slot that ends 10:15`. */
	readonly text: string;
}

export interface Consequence {
	/** The slots after the move, in the order that they were given in. */
	readonly after: readonly Slot[];
	/** Places of the other slots that start elsewhere now. */
	readonly gaveWay: readonly number[];
	readonly clashes: readonly Clash[];
	/** Slots whose lateness changes; minutes late before and after, 0 when in time. */
	readonly late: readonly {
		readonly index: number;
		readonly beforeMin: number;
		readonly afterMin: number;
	}[];
	/** Warm-ups, changeovers and cleanings that come or go. */
	readonly setups: readonly {
		readonly index: number;
		readonly change: 'added' | 'gone';
		readonly setup: Setup;
	}[];
	readonly cost: { readonly before: PlanCost; readonly after: PlanCost };
	readonly usage: Readonly<Record<'before' | 'after', readonly RoasterMinutes[]>>;
}

/** What follows from a move. The moved slot must not be among the problem's locked ones. */
export function moveSlot(
	problem: PlanProblem,
	plan: StandingPlan,
	move: Move,
	weights: PlanWeights
): Consequence {
	const before = plan.slots;
	const old = before[move.index]!;
	const roaster = problem.roasters.find(({ id }) => id === move.roasterId);
	if (!roaster) throw new RangeError(`There is no roaster ${move.roasterId}.`);
	const endMs = move.startMs + roaster.cycleMin * MINUTE_MS;
	const slot = { ...old.slot, roasterId: roaster.id, startMs: move.startMs, endMs };
	const put = before.map((one, i) => (i === move.index ? { ...one, slot, locked: false } : one));
	const after = giveWay(problem, put, (one, i) => {
		if (one.locked || i === move.index) return true;
		const { roasterId, startMs, endMs: oneEndMs } = one.slot;
		const isBehindNew = roasterId === roaster.id && oneEndMs > move.startMs;
		const isBehindOld = roasterId === old.slot.roasterId && startMs >= old.slot.startMs;
		return startMs < problem.fromMs || !(isBehindNew || isBehindOld);
	});
	const found = consequenceOf(problem, plan, after, weights);
	return { ...found, gaveWay: found.gaveWay.filter((i) => i !== move.index) };
}

/** What follows when these slots stand where the plan's were; in the same order, more of them last. */
export function consequenceOf(
	problem: PlanProblem,
	plan: StandingPlan,
	after: readonly Placed[],
	weights: PlanWeights
): Consequence {
	const [then, now] = [statusOf(problem, plan.slots), statusOf(problem, after)];
	const costed = (slots: readonly Slot[]) =>
		costOf(problem, { slots, unplaced: plan.unplaced }, weights);
	return {
		after: now.slots,
		gaveWay: after.flatMap((one, i) => {
			const old = plan.slots[i];
			return old && one.slot !== old.slot ? [i] : [];
		}),
		clashes: now.broken
			.filter((one) => !then.broken.some((b) => isSameBreach(b, one)))
			// A charge and a roaster that don't suit a test are one rule and two breaches.
			.filter((one, i, all) => all.findIndex((other) => isSameBreach(other, one)) === i)
			.map(({ rule, index }) => ({ index, text: clashText(problem, now.slots, index, rule) })),
		late: now.slots.flatMap((slot, index) => {
			const was = then.slots[index];
			const [beforeMin, afterMin] = [was ? lateMin(was) : 0, lateMin(slot)];
			return beforeMin === afterMin ? [] : [{ index, beforeMin, afterMin }];
		}),
		setups: now.slots.flatMap((slot, index) => setupChanges(then.slots[index], slot, index)),
		cost: { before: costed(then.slots), after: costed(now.slots) },
		usage: { before: then.usage, after: now.usage }
	};
}

/**
 * Slots that may move start at their own time or as soon after as they fit, in the order of their starts;
 * one without room stays where it was. The order of the list stays.
 */
export function giveWay(
	problem: PlanProblem,
	slots: readonly Placed[],
	stays: (one: Placed, index: number) => boolean
): readonly Placed[] {
	const out = [...slots];
	const placed = slots.filter(stays);
	const moving = slots
		.map((one, index) => ({ one, index }))
		.filter(({ one, index }) => !stays(one, index))
		.sort((a, b) => a.one.slot.startMs - b.one.slot.startMs);
	for (const { one, index } of moving) {
		const roaster = problem.roasters.find(({ id }) => id === one.slot.roasterId)!;
		const timeline = timelineOf(roaster, problem.windows, placed, problem.fromMs);
		const fit = earliestFit(timeline, {
			traits: one.traits,
			notBeforeMs: one.slot.startMs,
			within: one.slot.kind === 'test' ? (problem.profiling ?? null) : null
		});
		const startMs = fit?.startMs ?? one.slot.startMs;
		const isSame = startMs === one.slot.startMs;
		const endMs = startMs + (one.slot.endMs - one.slot.startMs);
		out[index] = isSame ? one : { ...one, slot: { ...one.slot, startMs, endMs } };
		placed.push(out[index]);
	}
	return out;
}

/** Slots with their setups and reasons, and the rules they break, each by its place in the list. */
interface Status {
	readonly slots: readonly Slot[];
	readonly usage: readonly RoasterMinutes[];
	readonly broken: readonly Breach[];
}

interface Breach {
	readonly rule: number;
	readonly index: number;
}

function isSameBreach(a: Breach, b: Breach): boolean {
	return a.rule === b.rule && a.index === b.index;
}

/** Rules of check.ts on where a slot may be; the others are on what the plan holds. */
const WHERE = new Set([1, 2, 3, 5, 6, 7, 10, 13, 14]);

function statusOf(problem: PlanProblem, placed: readonly Placed[]): Status {
	const timelines = new Map(
		problem.roasters.map((roaster) => [
			roaster.id,
			timelineOf(roaster, problem.windows, placed, problem.fromMs)
		])
	);
	const plan = finishPlan(problem, timelines, [], '');
	const indexOf = (roasterId: number, startMs: InstantMs) =>
		placed.findIndex(({ slot }) => slot.roasterId === roasterId && slot.startMs === startMs);
	const rest = new Set(plan.slots);
	const slots = placed.map(({ slot }) => {
		const found = [...rest].find((one) => isSameSlot(one, slot));
		if (!found)
			throw new Error(`The slot of roaster ${slot.roasterId} at ${slot.startMs} is lost.`);
		rest.delete(found);
		return found;
	});
	const broken = checkPlan(problem, plan).flatMap(({ path }) => {
		const match = /^rule (\d+), roaster (\d+) at (\d+)$/.exec(path);
		const rule = Number(match?.[1]);
		const index = match ? indexOf(Number(match[2]), Number(match[3])) : -1;
		return index >= 0 && WHERE.has(rule) ? [{ rule, index }] : [];
	});
	const overlaps = new Set(broken.flatMap(({ rule, index }) => (rule === 2 ? [index] : [])));
	return {
		slots,
		usage: plan.roasters,
		// Where slots overlap there is no room for a setup either: once is enough.
		broken: broken.filter(({ rule, index }) => !((rule === 5 || rule === 6) && overlaps.has(index)))
	};
}

function isSameSlot(a: SlotFacts, b: SlotFacts): boolean {
	return (
		a.roasterId === b.roasterId &&
		a.startMs === b.startMs &&
		a.lotId === b.lotId &&
		a.productId === b.productId &&
		a.testBatchId === b.testBatchId
	);
}

function clashText(
	problem: PlanProblem,
	slots: readonly Slot[],
	index: number,
	rule: number
): string {
	const slot = slots[index]!;
	const roaster = problem.roasters.find(({ id }) => id === slot.roasterId)!;
	const ahead = slots
		.filter((one) => one !== slot && one.roasterId === slot.roasterId)
		.filter(({ startMs }) => startMs <= slot.startMs)
		.toSorted((a, b) => b.endMs - a.endMs)[0];
	const say = (atMs: InstantMs) => sayInstant(atMs, problem.zone);
	const setup = slot.setup.map(({ kind, minutes }) => `${kind} ${sayMinutes(minutes)}`).join(', ');
	const texts: Readonly<Record<number, string>> = {
		1:
			slot.startMs < problem.fromMs
				? `would start before ${say(problem.fromMs)}, the first time that can still be planned`
				: `would run from ${say(slot.startMs)} to ${say(slot.endMs)}, outside the hours of ${roaster.name}`,
		2: `would start while the slot ahead of it runs${ahead ? `, which ends ${say(ahead.endMs)}` : ''}`,
		3: chargeText(problem, slot, roaster),
		5: `would have no time before it for its setup (${setup})`,
		6: `would have no time before it for its setup (${setup})`,
		7: 'would start before the test ahead of it is cupped, or before its lot is here',
		10: 'would start before its lot may be used',
		13: 'would run while nobody for profiling is there',
		14: `may not run on ${roaster.name}`
	};
	return texts[rule]!;
}

function chargeText(problem: PlanProblem, slot: Slot, roaster: Roaster): string {
	const test = problem.tests.find(({ testBatchId }) => testBatchId === slot.testBatchId);
	if (test && test.roasterId !== roaster.id) {
		const own = problem.roasters.find(({ id }) => id === test.roasterId);
		return `is a test with settings for ${own?.name ?? 'another roaster'}; plan a test for ${roaster.name} instead`;
	}
	return `has a charge of ${formatKg(slot.chargeG)}; ${roaster.name} takes ${limitsOf(roaster)}`;
}

function lateMin({ endMs, dueMs }: Slot): number {
	return Math.max(0, endMs - dueMs) / MINUTE_MS;
}

function setupChanges(
	was: Slot | undefined,
	slot: Slot,
	index: number
): readonly Consequence['setups'][number][] {
	const [then, now] = [was?.setup ?? [], slot.setup];
	const isIn = (list: readonly Setup[], { kind, minutes }: Setup) =>
		list.some((one) => one.kind === kind && one.minutes === minutes);
	return [
		...now
			.filter((setup) => !isIn(then, setup))
			.map((setup) => ({ index, setup, change: 'added' as const })),
		...then
			.filter((setup) => !isIn(now, setup))
			.map((setup) => ({ index, setup, change: 'gone' as const }))
	];
}

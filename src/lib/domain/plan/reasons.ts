import { formatKg } from '../quantity/mass.ts';
import type { InstantMs } from '../quantity/time.ts';
import { changeoverBetween, isFlavoured } from './changeover.ts';
import type { Lateness, RoasterMinutes, Setup, Slot, WeekPlan } from './plan.ts';
import {
	eligible,
	needKey,
	regularEndOf,
	type BatchTraits,
	type PlanProblem,
	type Roaster
} from './problem.ts';
import { sayInstant, sayMinutes } from './say.ts';
import { MINUTE_MS, isWarm, type Placed, type Timeline } from './timeline.ts';
import { explainUnplaced, limitsOf, type Pending } from './unplaced.ts';

/** From placed batches to a plan that says why each slot is where it is. */

/** Slots with their setups and reasons, minutes of each roaster and what is late. */
export function finishPlan(
	problem: PlanProblem,
	timelines: ReadonlyMap<number, Timeline>,
	pending: readonly Pending[],
	rule: string
): WeekPlan {
	const bare = [...timelines.values()].flatMap(slotsOf);
	const explain = explainer(problem, bare);
	const slots = bare
		.map((slot) => ({ ...slot, why: explain(slot) }))
		.sort((a, b) => a.startMs - b.startMs || a.roasterId - b.roasterId);
	return {
		slots,
		unplaced: pending.map((one) => explainUnplaced(problem, [...timelines.values()], one)),
		roasters: problem.roasters.map((roaster) => minutesOf(problem, roaster, slots)),
		late: latenessOf(slots),
		rule
	};
}

/** The slots of a timeline with their setups, without reasons. */
export function slotsOf(timeline: Timeline): readonly Slot[] {
	return timeline.placed.map((placed, i) => ({
		...placed.slot,
		traits: onlyTraits(placed.traits),
		locked: placed.locked,
		setup: setupOf(timeline, timeline.placed[i - 1] ?? null, placed),
		why: []
	}));
}

function setupOf(timeline: Timeline, before: Placed | null, placed: Placed): readonly Setup[] {
	const { roaster, windows } = timeline;
	const setup: Setup[] = [];
	const { startMs, endMs } = placed.slot;
	const window = windows.find((one) => one.startMs <= startMs && endMs <= one.endMs);
	if (window && roaster.warmUpMin > 0 && !isWarm(window, before?.slot ?? lastOf(roaster))) {
		setup.push({
			kind: 'warm-up',
			minutes: roaster.warmUpMin,
			because: 'first batch of the shift'
		});
	}
	const changeover = changeoverBetween(roaster, before?.traits ?? roaster.lastBatch, placed.traits);
	if (changeover !== null && changeover.minutes > 0) setup.push(changeover);
	return setup;
}

function lastOf({ lastEndMs }: Roaster): { readonly endMs: InstantMs } | null {
	return lastEndMs === null || lastEndMs === undefined ? null : { endMs: lastEndMs };
}

function onlyTraits(traits: BatchTraits): BatchTraits {
	const { decaf, certifiedOrganic, shade } = traits;
	return { decaf, certifiedOrganic, shade, flavoured: isFlavoured(traits) };
}

/** Reasons, data first. Made once for a plan, since many slots share a due moment or a need. */
function explainer(
	problem: PlanProblem,
	slots: readonly Slot[]
): (slot: Slot) => readonly string[] {
	const roasters = new Map(problem.roasters.map((roaster) => [roaster.id, roaster]));
	const tests = new Map(problem.tests.map((test) => [test.testBatchId, test]));
	const production = new Map(problem.production.map((need) => [needKey(need), need]));
	const endOfTest = new Map(slots.map((slot) => [slot.testBatchId, slot.endMs]));
	const said = new Map<InstantMs, string>();
	const say = (atMs: InstantMs): string => {
		const text = said.get(atMs) ?? sayInstant(atMs, problem.zone);
		said.set(atMs, text);
		return text;
	};
	const batchesOf = new Map<string, number>();
	const batchKey = (slot: Slot) => `${slot.kind}/${slot.testBatchId}/${needKey(slot)}`;
	const rooms = roomReasons(problem, say);
	for (const slot of slots) batchesOf.set(batchKey(slot), (batchesOf.get(batchKey(slot)) ?? 0) + 1);

	return (slot) => {
		const roaster = roasters.get(slot.roasterId)!;
		const test = slot.testBatchId === null ? undefined : tests.get(slot.testBatchId);
		const why = [`Due ${say(slot.dueMs)}; ${ending(slot)}.`];
		if (slot.locked) return [...why, 'Locked by hand; the rule left it where it was.'];
		const count = batchesOf.get(batchKey(slot)) ?? 1;
		const share = count === 1 ? ' in one batch' : `, one of ${count} batches`;
		const charge = slot.kind === 'test' ? ' as planned for the test' : share;
		why.push(`${formatKg(slot.chargeG)}${charge}; ${roaster.name} takes ${limitsOf(roaster)}.`);
		const before = test?.afterTestBatchId ?? null;
		if (before !== null) {
			const endMs = endOfTest.get(before);
			if (endMs !== undefined) {
				why.push(
					`Not before ${say(endMs + problem.cuppingLagMs)}: cupping of test batch ${before}.`
				);
			}
		}
		const notBeforeMs = test?.notBeforeMs ?? production.get(needKey(slot))?.notBeforeMs ?? null;
		if (notBeforeMs !== null && notBeforeMs > problem.fromMs) {
			why.push(
				`Not before ${say(notBeforeMs)}: ${slot.kind === 'test' ? 'arrival or the cupping before it' : 'arrival and release of the lot'}.`
			);
		}
		why.push(...rooms(slot));
		return [...why, ...slot.setup.map(saySetup)];
	};
}

/** What narrowed the roasters and the hours that a slot could have. */
function roomReasons(
	problem: PlanProblem,
	say: (atMs: InstantMs) => string
): (slot: Slot) => readonly string[] {
	const production = new Map(problem.production.map((need) => [needKey(need), need]));
	return (slot) => {
		const why: string[] = [];
		const need = slot.kind === 'production' ? production.get(needKey(slot)) : undefined;
		if (need?.roasterIds) {
			const names = eligible(need, problem.roasters).map(({ name }) => name);
			if (names.length < problem.roasters.length) why.push(`May run on ${names.join(', ')} only.`);
		}
		const there =
			slot.kind === 'test' &&
			problem.profiling?.find((one) => one.startMs <= slot.startMs && slot.endMs <= one.endMs);
		if (there)
			why.push(`Somebody for profiling is there ${say(there.startMs)} to ${say(there.endMs)}.`);
		const window = problem.windows.find(
			(one) =>
				one.roasterId === slot.roasterId && one.startMs <= slot.startMs && slot.endMs <= one.endMs
		);
		if (window && slot.endMs > regularEndOf(window))
			why.push(`In overtime: the shift ends ${say(regularEndOf(window))}.`);
		return why;
	};
}

function ending({ endMs, dueMs }: Slot): string {
	const overMin = (endMs - dueMs) / MINUTE_MS;
	if (overMin === 0) return 'ends just then';
	return overMin > 0 ? `ends ${sayMinutes(overMin)} late` : `ends ${sayMinutes(-overMin)} before`;
}

function saySetup({ kind, minutes, because }: Setup): string {
	const words = { 'warm-up': 'Warm-up', cleaning: 'Cleaning', changeover: 'Changeover' };
	return `${words[kind]} ${minutes} min before it: ${because}.`;
}

function minutesOf(problem: PlanProblem, roaster: Roaster, slots: readonly Slot[]): RoasterMinutes {
	const own = slots.filter(
		(slot) => slot.roasterId === roaster.id && slot.startMs >= problem.fromMs
	);
	const batchMin = (kind: Slot['kind']) =>
		own
			.filter((slot) => slot.kind === kind)
			.reduce((total, slot) => total + (slot.endMs - slot.startMs) / MINUTE_MS, 0);
	const setupMin = own
		.flatMap((slot) => slot.setup)
		.reduce((total, { minutes }) => total + minutes, 0);
	const availableMin = problem.windows
		.filter((window) => window.roasterId === roaster.id)
		.map(
			(window) => Math.max(0, window.endMs - Math.max(window.startMs, problem.fromMs)) / MINUTE_MS
		)
		.reduce((total, minutes) => total + minutes, 0);
	const [productionMin, testMin] = [batchMin('production'), batchMin('test')];
	const usedMin = productionMin + testMin + setupMin;
	return { roasterId: roaster.id, availableMin, productionMin, testMin, setupMin, usedMin };
}

function latenessOf(slots: readonly Slot[]): Lateness {
	const late = slots.filter((slot) => slot.endMs > slot.dueMs);
	const production = late.filter(({ kind }) => kind === 'production');
	return {
		productionSlots: production.length,
		productionG: production.reduce((total, { chargeG }) => total + chargeG, 0),
		tests: late.length - production.length
	};
}

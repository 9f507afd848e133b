import type { Problem } from '../quantity/problem.ts';
import type { Slot, WeekPlan } from './plan.ts';
import type { BatchTraits, PlanProblem, ProductionNeed, Roaster, Window } from './problem.ts';

/**
 * Whether a plan keeps every rule, worked out from the problem and the plan alone. It shares no code with
 * the planner on purpose: a mistake there must not hide itself here. So the changeover rules are read a
 * second time below.
 *
 * 1. A slot lies inside one window of its roaster and, unless locked, after the start of the plan.
 * 2. No two slots of a roaster overlap.
 * 3. A charge is within the roaster's limits; a test has the charge and the roaster it was planned with.
 * 4. A slot lasts the roaster's cycle.
 * 5. The first slot of a shift has its warm-up, unless the roaster ran in that shift already.
 * 6. Between two batches there is time for the changeover or cleaning they need.
 * 7. A test starts after the cupping of the one before it, and not before its own date.
 * 8. Locked slots are there, unchanged, and nothing else is called locked.
 * 9. Placed and unplaced mass of a need sum to the need; every test is placed or unplaced, once.
 * 10. Production starts not before its lot may be used.
 * 11. What the plan says is late is late, and all of it.
 * 12. Minutes available and used are those of windows and slots, and none are used twice.
 * 13. A test lies within the hours of somebody for profiling.
 * 14. Production runs on roasters that may take it.
 */

const MS = 60_000;

/** Every rule the plan breaks, with the slot or need it concerns; empty when it keeps them all. */
export function checkPlan(problem: PlanProblem, plan: WeekPlan): readonly Problem[] {
	return [
		...problem.roasters.flatMap((roaster) => checkRoaster(problem, plan, roaster)),
		...plan.slots
			.filter(({ roasterId }) => !problem.roasters.some(({ id }) => id === roasterId))
			.map((slot) => broken(1, slot, `There is no roaster ${slot.roasterId}.`)),
		...checkTests(problem, plan),
		...checkLocked(problem, plan),
		...checkMass(problem, plan),
		...checkLateness(plan)
	];
}

function checkRoaster(problem: PlanProblem, plan: WeekPlan, roaster: Roaster): readonly Problem[] {
	const slots = plan.slots
		.filter((slot) => slot.roasterId === roaster.id)
		.sort((a, b) => a.startMs - b.startMs);
	const windows = problem.windows.filter((window) => window.roasterId === roaster.id);
	return [
		...slots.flatMap((slot) => checkSlot(problem, roaster, windows, slot)),
		...slots.flatMap((slot, i) => checkSetup(problem, roaster, windows, slots[i - 1], slot)),
		...checkMinutes(problem, plan, roaster, windows, slots)
	];
}

function checkSlot(
	problem: PlanProblem,
	roaster: Roaster,
	windows: readonly Window[],
	slot: Slot
): readonly Problem[] {
	const found: Problem[] = [];
	if (!windowOf(windows, slot)) {
		found.push(broken(1, slot, `${slot.startMs} to ${slot.endMs} is in no window of its roaster.`));
	}
	if (!slot.locked && slot.startMs < problem.fromMs) {
		found.push(broken(1, slot, `Starts at ${slot.startMs}, before the plan at ${problem.fromMs}.`));
	}
	if (slot.chargeG < roaster.minChargeG || slot.chargeG > roaster.maxChargeG) {
		found.push(
			broken(
				3,
				slot,
				`Charge ${slot.chargeG} g; expected ${roaster.minChargeG} to ${roaster.maxChargeG} g.`
			)
		);
	}
	if (!slot.locked && slot.endMs - slot.startMs !== roaster.cycleMin * MS) {
		found.push(
			broken(
				4,
				slot,
				`Lasts ${(slot.endMs - slot.startMs) / MS} min; expected ${roaster.cycleMin}.`
			)
		);
	}
	return found;
}

function checkSetup(
	problem: PlanProblem,
	roaster: Roaster,
	windows: readonly Window[],
	before: Slot | undefined,
	slot: Slot
): readonly Problem[] {
	const found: Problem[] = [];
	if (before && before.endMs > slot.startMs) {
		found.push(
			broken(2, slot, `Starts at ${slot.startMs}, before the slot ending ${before.endMs}.`)
		);
	}
	const window = windowOf(windows, slot);
	if (!window) return found;
	const first = isFirst(roaster, window, before);
	const warmUpMin = first ? roaster.warmUpMin : 0;
	const changeoverMin = neededBetween(roaster, before?.traits ?? roaster.lastBatch, slot.traits);
	const freeFromMs = Math.max(
		window.startMs,
		before?.endMs ?? window.startMs,
		slot.locked ? window.startMs : problem.fromMs
	);
	const freeMin = (slot.startMs - freeFromMs) / MS;
	if (freeMin < warmUpMin) {
		found.push(broken(5, slot, `${freeMin} min before it; expected ${warmUpMin} of warm-up.`));
	} else if (freeMin < warmUpMin + changeoverMin) {
		const wanted = `${changeoverMin} of changeover or cleaning after ${warmUpMin} of warm-up`;
		found.push(broken(6, slot, `${freeMin} min before it; expected ${wanted}.`));
	}
	return found;
}

/** Whether nothing ran on the roaster since the window's shift began. */
function isFirst(roaster: Roaster, window: Window, before: Slot | undefined): boolean {
	const lastEndMs = before ? before.endMs : (roaster.lastEndMs ?? -Infinity);
	return lastEndMs <= (window.shiftStartMs ?? window.startMs);
}

/** The longest of the roaster's rules between two batches, read afresh from the data. */
function neededBetween(roaster: Roaster, earlier: BatchTraits | null, later: BatchTraits): number {
	let most = 0;
	if (earlier === null) return most;
	const names = ['decaf', 'certifiedOrganic', 'shade'] as const;
	for (const { after, before, takes } of roaster.changeovers) {
		const applies =
			names.every(
				(name) =>
					(after[name] === undefined || after[name] === earlier[name]) &&
					(before[name] === undefined || before[name] === later[name])
			) &&
			(after.flavoured === undefined || after.flavoured === (earlier.flavoured ?? false)) &&
			(before.flavoured === undefined || before.flavoured === (later.flavoured ?? false));
		if (applies) most = Math.max(most, takes === 'cleaning' ? roaster.cleaningMin : takes);
	}
	return most;
}

function checkTests(problem: PlanProblem, plan: WeekPlan): readonly Problem[] {
	const found: Problem[] = [];
	for (const test of problem.tests) {
		const slots = plan.slots.filter((slot) => slot.testBatchId === test.testBatchId);
		const missing = plan.unplaced.filter((one) => one.testBatchId === test.testBatchId);
		if (slots.length + missing.length !== 1) {
			found.push({
				path: `rule 9, test batch ${test.testBatchId}`,
				message: `Placed ${slots.length} and unplaced ${missing.length} times; expected once in all.`
			});
		}
		for (const slot of slots.filter(({ locked }) => !locked)) {
			if (slot.chargeG !== test.chargeG || slot.roasterId !== test.roasterId) {
				found.push(broken(3, slot, `Expected ${test.chargeG} g on roaster ${test.roasterId}.`));
			}
			const { profiling } = problem;
			if (profiling && !profiling.some((p) => p.startMs <= slot.startMs && slot.endMs <= p.endMs)) {
				found.push(broken(13, slot, 'Nobody for profiling is there all the while.'));
			}
			found.push(...checkWaiting(problem, plan, test.afterTestBatchId, test.notBeforeMs, slot));
		}
	}
	return found;
}

function checkWaiting(
	problem: PlanProblem,
	plan: WeekPlan,
	afterTestBatchId: number | null,
	notBeforeMs: number | null,
	slot: Slot
): readonly Problem[] {
	const found: Problem[] = [];
	if (notBeforeMs !== null && slot.startMs < notBeforeMs) {
		found.push(broken(7, slot, `Starts at ${slot.startMs}; expected not before ${notBeforeMs}.`));
	}
	if (afterTestBatchId === null) return found;
	const before = plan.slots.find((other) => other.testBatchId === afterTestBatchId);
	if (!before) {
		found.push(broken(7, slot, `Test batch ${afterTestBatchId}, which comes first, has no slot.`));
	} else if (slot.startMs < before.endMs + problem.cuppingLagMs) {
		const cuppedMs = before.endMs + problem.cuppingLagMs;
		found.push(broken(7, slot, `Starts at ${slot.startMs}, before the cupping at ${cuppedMs}.`));
	}
	return found;
}

function checkLocked(problem: PlanProblem, plan: WeekPlan): readonly Problem[] {
	const facts = [
		'kind',
		'roasterId',
		'startMs',
		'endMs',
		'lotId',
		'productId',
		'testBatchId',
		'chargeG',
		'dueMs'
	] as const;
	const kept = plan.slots.filter((slot) => slot.locked);
	const gone = problem.locked.filter(
		(wanted) => !kept.some((slot) => facts.every((name) => slot[name] === wanted[name]))
	);
	const found = gone.map((slot) => broken(8, slot, 'Is locked, but not in the plan as it was.'));
	if (kept.length !== problem.locked.length) {
		const message = `${kept.length} slots are called locked; expected ${problem.locked.length}.`;
		found.push({ path: 'rule 8, locked slots', message });
	}
	return found;
}

function checkMass(problem: PlanProblem, plan: WeekPlan): readonly Problem[] {
	const found: Problem[] = [];
	const isFor =
		(need: ProductionNeed) => (one: Omit<Slot, 'chargeG'> | WeekPlan['unplaced'][number]) =>
			one.kind === 'production' &&
			one.lotId === need.lotId &&
			one.productId === need.productId &&
			one.dueMs === need.dueMs;
	for (const need of problem.production) {
		const slots = plan.slots.filter(isFor(need));
		const heldG = slots.reduce((sum, { chargeG }) => sum + chargeG, 0);
		const lockedG = slots.reduce((sum, { chargeG, locked }) => sum + (locked ? chargeG : 0), 0);
		const leftG = plan.unplaced.filter(isFor(need)).reduce((sum, { greenG }) => sum + greenG, 0);
		const expectedG = Math.max(need.greenG, lockedG);
		if (heldG + leftG !== expectedG) {
			found.push({
				path: `rule 9, lot ${need.lotId} for product ${need.productId} due ${need.dueMs}`,
				message: `${heldG} g placed and ${leftG} g unplaced; expected ${expectedG} g together.`
			});
		}
		for (const slot of slots) {
			if (!slot.locked && need.roasterIds && !need.roasterIds.includes(slot.roasterId)) {
				found.push(broken(14, slot, `Expected roaster ${need.roasterIds.join(' or ')}.`));
			}
			if (!slot.locked && need.notBeforeMs !== null && slot.startMs < need.notBeforeMs) {
				found.push(
					broken(10, slot, `Starts at ${slot.startMs}; expected not before ${need.notBeforeMs}.`)
				);
			}
		}
	}
	return [...found, ...checkStrangers(problem, plan)];
}

/** Slots that nobody asked for, and slots whose separation traits are not those of their need. */
function checkStrangers(problem: PlanProblem, plan: WeekPlan): readonly Problem[] {
	return plan.slots
		.filter(({ locked }) => !locked)
		.flatMap((slot) => {
			const need =
				slot.kind === 'test'
					? problem.tests.find(({ testBatchId }) => testBatchId === slot.testBatchId)
					: problem.production.find(
							(one) =>
								one.lotId === slot.lotId &&
								one.productId === slot.productId &&
								one.dueMs === slot.dueMs
						);
			if (!need) return [broken(9, slot, 'No need asks for it.')];
			const same =
				need.lotId === slot.lotId &&
				need.dueMs === slot.dueMs &&
				(need.flavoured ?? false) === (slot.traits.flavoured ?? false) &&
				need.decaf === slot.traits.decaf &&
				need.certifiedOrganic === slot.traits.certifiedOrganic &&
				need.shade === slot.traits.shade;
			return same ? [] : [broken(9, slot, 'Lot, due moment or traits are not those of its need.')];
		});
}

function checkLateness(plan: WeekPlan): readonly Problem[] {
	let [productionSlots, productionG, tests] = [0, 0, 0];
	for (const slot of plan.slots) {
		if (slot.endMs <= slot.dueMs) continue;
		if (slot.kind === 'test') tests += 1;
		else {
			productionSlots += 1;
			productionG += slot.chargeG;
		}
	}
	const { late } = plan;
	if (
		late.productionSlots === productionSlots &&
		late.productionG === productionG &&
		late.tests === tests
	) {
		return [];
	}
	const message = `Says ${late.productionSlots} slots, ${late.productionG} g, ${late.tests} tests late; counted ${productionSlots}, ${productionG}, ${tests}.`;
	return [{ path: 'rule 11, lateness', message }];
}

function checkMinutes(
	problem: PlanProblem,
	plan: WeekPlan,
	roaster: Roaster,
	windows: readonly Window[],
	slots: readonly Slot[]
): readonly Problem[] {
	const path = `rule 12, minutes of roaster ${roaster.id}`;
	const said = plan.roasters.find(({ roasterId }) => roasterId === roaster.id);
	if (!said) return [{ path, message: 'Are missing.' }];
	let [availableMin, productionMin, testMin, setupMin] = [0, 0, 0, 0];
	for (const window of windows) {
		availableMin += Math.max(0, window.endMs - Math.max(window.startMs, problem.fromMs)) / MS;
	}
	for (const [i, slot] of slots.entries()) {
		if (slot.startMs < problem.fromMs) continue;
		const minutes = (slot.endMs - slot.startMs) / MS;
		if (slot.kind === 'test') testMin += minutes;
		else productionMin += minutes;
		setupMin += neededBetween(roaster, slots[i - 1]?.traits ?? roaster.lastBatch, slot.traits);
		const window = windowOf(windows, slot);
		const before = slots[i - 1];
		if (window && isFirst(roaster, window, before)) setupMin += roaster.warmUpMin;
	}
	const counted = [
		availableMin,
		productionMin,
		testMin,
		setupMin,
		productionMin + testMin + setupMin
	];
	const given = [said.availableMin, said.productionMin, said.testMin, said.setupMin, said.usedMin];
	if (counted.every((minutes, i) => Math.abs(minutes - given[i]!) < 1e-6)) return [];
	const message = `Says available, production, test, setup, used ${given.join(', ')}; counted ${counted.join(', ')}.`;
	return [{ path, message }];
}

function windowOf(
	windows: readonly Window[],
	slot: { readonly startMs: number; readonly endMs: number }
): Window | undefined {
	return windows.find(({ startMs, endMs }) => startMs <= slot.startMs && slot.endMs <= endMs);
}

function broken(
	rule: number,
	slot: { readonly roasterId: number; readonly startMs: number },
	message: string
): Problem {
	return { path: `rule ${rule}, roaster ${slot.roasterId} at ${slot.startMs}`, message };
}

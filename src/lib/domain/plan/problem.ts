import type { Problem } from '../quantity/problem.ts';
import type { InstantMs } from '../quantity/time.ts';

/**
 * What a week plan is made from, as plain data. Shifts come expanded to instants (the caller knows the
 * zone and the clock changes), masses are integer grams of green coffee, durations are minutes. One
 * batch holds one lot: blends are put together after roasting.
 */

/** Light is roasted before dark. */
export const ROAST_SHADES = ['light', 'medium', 'dark'] as const;
export type RoastShade = (typeof ROAST_SHADES)[number];

/** What a batch leaves behind in a roaster, as far as the next batch minds it. */
export interface BatchTraits {
	readonly decaf: boolean;
	readonly certifiedOrganic: boolean;
	readonly shade: RoastShade;
	/** Carries a flavour over to what follows it; false where left out. */
	readonly flavoured?: boolean;
}

/**
 * What has to happen between two batches. A rule applies when the earlier batch has every trait named in
 * `after` and the later one every trait named in `before`. Of several that apply the longest counts: one
 * cleaning serves them all.
 */
export interface ChangeoverRule {
	/** Short noun phrase for a person, such as `regular coffee after decaf`. */
	readonly name: string;
	readonly after: Partial<BatchTraits>;
	readonly before: Partial<BatchTraits>;
	/** `cleaning` lasts the roaster's cleaningMin; a number is a changeover of so many minutes. */
	readonly takes: 'cleaning' | number;
}

export interface Roaster {
	readonly id: number;
	readonly name: string;
	readonly minChargeG: number;
	readonly maxChargeG: number;
	/** Before the first batch of every window. */
	readonly warmUpMin: number;
	/** One batch, from charge to the next charge. */
	readonly cycleMin: number;
	readonly cleaningMin: number;
	readonly changeovers: readonly ChangeoverRule[];
	/** What ran last before this plan; null when the roaster is clean. */
	readonly lastBatch: BatchTraits | null;
	/**
	 * When that batch ended; a roaster that ran in the shift under way is warm. Left out where it is not
	 * known: the roaster counts as cold.
	 */
	readonly lastEndMs?: InstantMs | null;
}

/**
 * A stretch in which a roaster is staffed: a shift, or the part of one between two breaks. Windows of one
 * roaster don't overlap.
 */
export interface Window {
	readonly roasterId: number;
	readonly startMs: InstantMs;
	readonly endMs: InstantMs;
	/**
	 * Start of the shift it is part of: a roaster that ran since then is warm. The window's own start
	 * where left out.
	 */
	readonly shiftStartMs?: InstantMs;
	/** From here to its end it is overtime. Its end where left out: no overtime. */
	readonly overtimeFromMs?: InstantMs;
}

/** A stretch in which somebody for profiling is there. */
export interface Presence {
	readonly startMs: InstantMs;
	readonly endMs: InstantMs;
}

/** Start of the shift that a window is part of. */
export function shiftStartOf(window: Window): InstantMs {
	return window.shiftStartMs ?? window.startMs;
}

/** End of a window's regular time. */
export function regularEndOf(window: Window): InstantMs {
	return window.overtimeFromMs ?? window.endMs;
}

/** Green coffee of one lot to be roasted for one product; lot, product and due moment name it. */
export interface ProductionNeed extends BatchTraits {
	readonly lotId: number;
	readonly productId: number;
	readonly greenG: number;
	readonly dueMs: InstantMs;
	/** Not before the lot has arrived and is released; null when it is. */
	readonly notBeforeMs: InstantMs | null;
	/** The roasters that may take it; every one where left out. */
	readonly roasterIds?: readonly number[];
}

/** The roasters that may take a need. */
export function eligible(
	need: { readonly roasterIds?: readonly number[] },
	roasters: readonly Roaster[]
): readonly Roaster[] {
	const { roasterIds } = need;
	return roasterIds ? roasters.filter(({ id }) => roasterIds.includes(id)) : roasters;
}

/** One test batch to be roasted on the roaster it was planned for. */
export interface TestNeed extends BatchTraits {
	readonly testBatchId: number;
	readonly lotId: number;
	readonly roasterId: number;
	readonly chargeG: number;
	readonly dueMs: InstantMs;
	/** Arrival, or the cupping of the test before it where that is already known; null when neither waits. */
	readonly notBeforeMs: InstantMs | null;
	/** The test of the same lot that must be cupped first and is itself still to be placed or locked. */
	readonly afterTestBatchId: number | null;
}

/** What a slot on a roaster holds. */
export interface SlotFacts {
	readonly kind: 'production' | 'test';
	readonly roasterId: number;
	readonly startMs: InstantMs;
	readonly endMs: InstantMs;
	readonly lotId: number;
	readonly productId: number | null;
	readonly testBatchId: number | null;
	readonly chargeG: number;
	readonly dueMs: InstantMs;
}

/** A slot that a person has fixed: it stays as it is, and counts towards the need it names. */
export interface LockedSlot extends SlotFacts {
	readonly traits: BatchTraits;
}

export interface PlanProblem {
	/** Nothing new is placed before this. */
	readonly fromMs: InstantMs;
	/** IANA name of the site's zone, for the times in reasons only. */
	readonly zone: string;
	readonly roasters: readonly Roaster[];
	readonly windows: readonly Window[];
	readonly production: readonly ProductionNeed[];
	readonly tests: readonly TestNeed[];
	readonly locked: readonly LockedSlot[];
	/** From the end of a test batch to the earliest next one of its lot: rest, cupping, verdict. */
	readonly cuppingLagMs: number;
	/** Tests lie inside one of these; anywhere in a window where left out. They don't overlap. */
	readonly profiling?: readonly Presence[];
}

/** How a production need is named wherever a text key is wanted. */
export function needKey(need: Pick<SlotFacts, 'lotId' | 'productId' | 'dueMs'>): string {
	return `${need.lotId}/${need.productId}/${need.dueMs}`;
}

/**
 * Everything that makes a problem unfit to plan: unknown roasters, limits the wrong way round, windows
 * that overlap, names used twice, tests that wait for each other in a circle. Empty when it is fit.
 */
export function problemsIn(problem: PlanProblem): readonly Problem[] {
	return [
		...problem.roasters.flatMap(roasterProblems),
		...windowProblems(problem),
		...productionProblems(problem),
		...testProblems(problem),
		...lockedProblems(problem)
	];
}

function roasterProblems(roaster: Roaster, index: number): readonly Problem[] {
	const path = `roaster ${roaster.name || index + 1}`;
	const found: Problem[] = [];
	if (!isWhole(roaster.minChargeG, 1) || !isWhole(roaster.maxChargeG, roaster.minChargeG)) {
		found.push({
			path,
			message: `Charge limits are ${roaster.minChargeG} to ${roaster.maxChargeG} g; expected whole grams, smallest at least 1 and not above the largest.`
		});
	}
	if (!(roaster.cycleMin > 0) || !(roaster.warmUpMin >= 0) || !(roaster.cleaningMin >= 0)) {
		found.push({
			path,
			message: `Cycle ${roaster.cycleMin}, warm-up ${roaster.warmUpMin}, cleaning ${roaster.cleaningMin} min; expected a cycle above 0 and the others not below.`
		});
	}
	return found;
}

function windowProblems(problem: PlanProblem): readonly Problem[] {
	const known = new Set(problem.roasters.map((roaster) => roaster.id));
	const found: Problem[] = [];
	const sorted = problem.windows.toSorted(
		(a, b) => a.roasterId - b.roasterId || a.startMs - b.startMs
	);
	for (const [i, window] of sorted.entries()) {
		const path = `window of roaster ${window.roasterId} at ${window.startMs}`;
		if (!known.has(window.roasterId)) found.push({ path, message: 'There is no such roaster.' });
		if (shiftStartOf(window) > window.startMs || regularEndOf(window) > window.endMs) {
			found.push({
				path,
				message: `Is of the shift from ${shiftStartOf(window)} and regular until ${regularEndOf(window)}; expected a shift that starts no later and regular time that ends no later than it.`
			});
		}
		if (!(window.endMs > window.startMs)) {
			found.push({ path, message: `Ends at ${window.endMs}; expected an end after the start.` });
		}
		const next = sorted[i + 1];
		if (next && next.roasterId === window.roasterId && next.startMs < window.endMs) {
			found.push({
				path,
				message: `Overlaps the window at ${next.startMs}; expected windows apart.`
			});
		}
	}
	return found;
}

function productionProblems(problem: PlanProblem): readonly Problem[] {
	const found = repeated(problem.production.map(needKey), 'production need lot/product/due');
	for (const need of problem.production) {
		if (!isWhole(need.greenG, 0)) {
			found.push({
				path: `production need lot/product/due ${needKey(need)}`,
				message: `Green mass is ${need.greenG} g; expected whole grams, 0 or more.`
			});
		}
		for (const id of need.roasterIds ?? []) {
			if (problem.roasters.some((roaster) => roaster.id === id)) continue;
			found.push({
				path: `production need lot/product/due ${needKey(need)}`,
				message: `May run on roaster ${id}; there is no such roaster.`
			});
		}
	}
	return found;
}

function testProblems(problem: PlanProblem): readonly Problem[] {
	const roasters = new Set(problem.roasters.map((roaster) => roaster.id));
	const tests = new Map(problem.tests.map((test) => [test.testBatchId, test]));
	const fixed = new Set(problem.locked.map((slot) => slot.testBatchId));
	const found = repeated(
		problem.tests.map((test) => String(test.testBatchId)),
		'test batch'
	);
	for (const test of problem.tests) {
		const path = `test batch ${test.testBatchId}`;
		const say = (message: string) => found.push({ path, message });
		if (!roasters.has(test.roasterId)) say(`There is no roaster ${test.roasterId}.`);
		if (!isWhole(test.chargeG, 1)) {
			say(`Charge is ${test.chargeG} g; expected whole grams, 1 or more.`);
		}
		const before = test.afterTestBatchId;
		if (before !== null && !tests.has(before) && !fixed.has(before)) {
			say(`Waits for test batch ${before}, which is neither to be placed nor locked.`);
		}
		if (waitsForItself(test, tests)) say('Waits for itself through the tests before it.');
	}
	return found;
}

function waitsForItself(test: TestNeed, tests: ReadonlyMap<number, TestNeed>): boolean {
	let before = test.afterTestBatchId;
	for (let step = 0; before !== null && step <= tests.size; step += 1) {
		if (before === test.testBatchId) return true;
		before = tests.get(before)?.afterTestBatchId ?? null;
	}
	return false;
}

function lockedProblems(problem: PlanProblem): readonly Problem[] {
	const roasters = new Set(problem.roasters.map((roaster) => roaster.id));
	const found: Problem[] = repeated(
		problem.locked.flatMap((slot) => (slot.testBatchId === null ? [] : [String(slot.testBatchId)])),
		'locked test batch'
	);
	for (const slot of problem.locked) {
		const path = `locked slot of roaster ${slot.roasterId} at ${slot.startMs}`;
		if (!roasters.has(slot.roasterId)) found.push({ path, message: 'There is no such roaster.' });
		if (!(slot.endMs > slot.startMs)) {
			found.push({ path, message: `Ends at ${slot.endMs}; expected an end after the start.` });
		}
	}
	return found;
}

function repeated(names: readonly string[], what: string): Problem[] {
	const seen = new Set<string>();
	const twice = new Set<string>();
	for (const name of names) (seen.has(name) ? twice : seen).add(name);
	return [...twice].map((name) => ({
		path: `${what} ${name}`,
		message: 'Is there more than once; expected once.'
	}));
}

function isWhole(value: number, least: number): boolean {
	return Number.isSafeInteger(value) && value >= least;
}

import type { InstantMs } from '../quantity/time.ts';
import { amountsOf, weigh, type PlanWeights } from './objective.ts';
import type { Slot, Unplaced } from './plan.ts';
import { regularEndOf, type PlanProblem, type SlotFacts } from './problem.ts';
import { MINUTE_MS } from './timeline.ts';

/**
 * Two plans side by side. Rules:
 * 1. A figure is the sum of its parts, and every part names the record that it comes from.
 * 2. What started before the plan counts in neither: it happens with the change and without.
 * 3. What has no slot is counted from the needs: what they ask for less what slots hold.
 * 4. What no lot can give is counted apart: no plan can place it, and no weight is put on it.
 * 5. Two slots of one lot for one product, or of one test, are the same batch: those at the same place first,
 *    the others in the order of their starts.
 */

/** What a part of a figure comes from. */
export type PartOf =
	| { readonly kind: 'need'; readonly lotId: number; readonly productId: number | null }
	| { readonly kind: 'test'; readonly lotId: number; readonly testBatchId: number }
	| { readonly kind: 'roaster'; readonly roasterId: number }
	| { readonly kind: 'weight'; readonly name: keyof PlanWeights };

export interface Part {
	readonly of: PartOf;
	readonly value: number;
}

/** The value of a figure is the sum of its parts. */
export interface Figure<Name extends string = string> {
	readonly name: Name;
	readonly parts: readonly Part[];
}

/** Grams, minutes and counts, as the name ends; `worth` in roaster minutes by the weights. */
export const PLAN_FIGURES = [
	'placedG',
	'noRoomG',
	'noCoffeeG',
	'lateG',
	'testsPlaced',
	'testsLate',
	'testsLeft',
	'usedMin',
	'staffedMin',
	'overtimeMin',
	'cleaningMin',
	'changeovers',
	'worth'
] as const;
export type PlanFigure = (typeof PLAN_FIGURES)[number];

/** A plan to be counted. */
export interface Counted {
	readonly problem: PlanProblem;
	/** With their setups. */
	readonly slots: readonly Slot[];
	/** What the lots can't give, whatever the roasters do. */
	readonly unservable: readonly Unplaced[];
	readonly weights: PlanWeights;
}

/** A figure of two plans. */
export interface Compared<Name extends string = string> {
	readonly name: Name;
	readonly before: number;
	readonly after: number;
	/** Of a third plan that the second is measured against; null where there is none. */
	readonly control: number | null;
	readonly parts: readonly {
		readonly of: PartOf;
		readonly before: number;
		readonly after: number;
	}[];
}

/** A batch that is not where it was. */
export interface Moved {
	/** Null for one that is new. */
	readonly before: Slot | null;
	/** Null for one that is gone. */
	readonly after: Slot | null;
}

/** The value of a figure (rule 1). */
export function valueOf({ parts }: Figure): number {
	return parts.reduce((sum, { value }) => sum + value, 0);
}

/** Every figure of a plan, in the order of `PLAN_FIGURES`. */
export function figuresOf(counted: Counted): readonly Figure<PlanFigure>[] {
	const { problem, unservable, weights } = counted;
	const slots = counted.slots.filter(({ startMs }) => startMs >= problem.fromMs);
	const batches = slots.filter(({ kind }) => kind === 'production');
	const tests = slots.filter(({ kind }) => kind === 'test');
	const isLate = ({ endMs, dueMs }: Slot) => endMs > dueMs;
	const left = leftOver(counted);
	const amounts = amountsOf(problem, { slots, unplaced: left });
	const worth = weigh(amounts, weights).parts;
	const found: Readonly<Record<PlanFigure, readonly Part[]>> = {
		placedG: batches.map((slot) => ({ of: needPart(slot), value: slot.chargeG })),
		noRoomG: left.flatMap((one) =>
			one.kind === 'production' ? [{ of: needPart(one), value: one.greenG }] : []
		),
		noCoffeeG: unservable.map((one) => ({ of: needPart(one), value: one.greenG })),
		lateG: batches.filter(isLate).map((slot) => ({ of: needPart(slot), value: slot.chargeG })),
		testsPlaced: tests.map((slot) => ({ of: testPart(slot), value: 1 })),
		testsLate: tests.filter(isLate).map((slot) => ({ of: testPart(slot), value: 1 })),
		testsLeft: left.flatMap((one) =>
			one.kind === 'test' ? [{ of: testPart(one), value: 1 }] : []
		),
		usedMin: slots.map((slot) => ({ of: roasterPart(slot), value: minutesOf(slot) })),
		staffedMin: problem.windows.map((window) => ({
			of: roasterPart(window),
			value: minutesBetween(Math.max(window.startMs, problem.fromMs), regularEndOf(window))
		})),
		overtimeMin: overtimeOf(problem, slots),
		cleaningMin: setupParts(slots, (kind, minutes) => (kind === 'cleaning' ? minutes : 0)),
		changeovers: setupParts(slots, (kind) => (kind === 'warm-up' ? 0 : 1)),
		worth: (Object.keys(worth) as (keyof PlanWeights)[]).map((name) => ({
			of: { kind: 'weight', name },
			value: worth[name]
		}))
	};
	return PLAN_FIGURES.map((name) => ({ name, parts: summed(found[name]) }));
}

/** What of the needs no slot holds (rule 3), as far as a planner words it. */
export type LeftOver = Pick<Unplaced, 'kind' | 'lotId' | 'productId' | 'testBatchId' | 'greenG'>;

/** Rule 3: what no slot holds, slots that run already included. */
export function leftOver({ problem, slots }: Pick<Counted, 'problem' | 'slots'>): LeftOver[] {
	const tests = new Set(slots.map(({ testBatchId }) => testBatchId));
	return [
		...problem.production.flatMap(({ lotId, productId, greenG }): LeftOver[] => {
			const heldG = slots
				.filter((slot) => slot.lotId === lotId && slot.productId === productId)
				.reduce((sum, { chargeG }) => sum + chargeG, 0);
			if (heldG >= greenG) return [];
			return [{ kind: 'production', lotId, productId, testBatchId: null, greenG: greenG - heldG }];
		}),
		...problem.tests
			.filter(({ testBatchId }) => !tests.has(testBatchId))
			.map(({ lotId, testBatchId, chargeG }): LeftOver => ({
				...{ kind: 'test', lotId, productId: null, testBatchId, greenG: chargeG }
			}))
	];
}

function minutesOf({ startMs, endMs, setup }: Slot): number {
	return minutesBetween(startMs, endMs) + setup.reduce((sum, { minutes }) => sum + minutes, 0);
}

function minutesBetween(fromMs: InstantMs, toMs: InstantMs): number {
	return Math.max(0, toMs - fromMs) / MINUTE_MS;
}

/** As objective.ts counts it: to the end of the last slot of each window. */
function overtimeOf(problem: PlanProblem, slots: readonly Slot[]): Part[] {
	return problem.windows.map((window) => {
		const ends = slots
			.filter(
				({ roasterId, startMs, endMs }) =>
					roasterId === window.roasterId && window.startMs <= startMs && endMs <= window.endMs
			)
			.map(({ endMs }) => endMs);
		return {
			of: roasterPart(window),
			value: minutesBetween(regularEndOf(window), Math.max(...ends, 0))
		};
	});
}

function setupParts(
	slots: readonly Slot[],
	of: (kind: Slot['setup'][number]['kind'], minutes: number) => number
): Part[] {
	return slots.map((slot) => ({
		of: roasterPart(slot),
		value: slot.setup.reduce((sum, { kind, minutes }) => sum + of(kind, minutes), 0)
	}));
}

function needPart({ lotId, productId }: Pick<SlotFacts, 'lotId' | 'productId'>): PartOf {
	return { kind: 'need', lotId, productId };
}

function testPart({ lotId, testBatchId }: Pick<SlotFacts, 'lotId' | 'testBatchId'>): PartOf {
	return { kind: 'test', lotId, testBatchId: testBatchId! };
}

function roasterPart({ roasterId }: { readonly roasterId: number }): PartOf {
	return { kind: 'roaster', roasterId };
}

/** What names a part. */
export function partKey(of: PartOf): string {
	return Object.values(of).join('/');
}

/** Parts of the same record made one; those of nothing left out. */
export function summed(parts: readonly Part[]): Part[] {
	return [...Map.groupBy(parts, ({ of }) => partKey(of)).values()]
		.map((same) => ({ of: same[0]!.of, value: valueOf({ name: '', parts: same }) }))
		.filter(({ value }) => value !== 0);
}

/** The figures of two plans side by side, of those named in the first. */
export function compareFigures<Name extends string>(
	before: readonly Figure<Name>[],
	after: readonly Figure<Name>[],
	control: readonly Figure<Name>[] | null
): readonly Compared<Name>[] {
	const named = (figures: readonly Figure<Name>[], name: Name): Figure<Name> =>
		figures.find((one) => one.name === name) ?? { name, parts: [] };
	return before.map((was) => {
		const is = named(after, was.name);
		const keys = new Map([...was.parts, ...is.parts].map(({ of }) => [partKey(of), of]));
		const value = ({ parts }: Figure, key: string) =>
			parts.find(({ of }) => partKey(of) === key)?.value ?? 0;
		return {
			name: was.name,
			...{ before: valueOf(was), after: valueOf(is) },
			control: control && valueOf(named(control, was.name)),
			parts: [...keys].map(([key, of]) => ({
				...{ of, before: value(was, key), after: value(is, key) }
			}))
		};
	});
}

/** Batches that are elsewhere, new or gone (rule 5), by the earlier of their starts. */
export function movesBetween(before: readonly Slot[], after: readonly Slot[]): readonly Moved[] {
	const keyOf = (slot: Slot) =>
		slot.kind === 'test' ? `test ${slot.testBatchId}` : `${slot.lotId}/${slot.productId}`;
	const then = Map.groupBy(before, keyOf);
	const now = Map.groupBy(after, keyOf);
	const moved = [...new Set([...then.keys(), ...now.keys()])].flatMap((key) =>
		movesOf(then.get(key) ?? [], now.get(key) ?? [])
	);
	const startOf = ({ before: was, after: is }: Moved) =>
		Math.min(was?.startMs ?? Infinity, is?.startMs ?? Infinity);
	return moved.sort((a, b) => startOf(a) - startOf(b));
}

function movesOf(before: readonly Slot[], after: readonly Slot[]): Moved[] {
	const isAt = (a: Slot) => (b: Slot) =>
		a.roasterId === b.roasterId && a.startMs === b.startMs && a.chargeG === b.chargeG;
	const byStart = (slots: readonly Slot[], others: readonly Slot[]) =>
		slots.filter((one) => !others.some(isAt(one))).sort((a, b) => a.startMs - b.startMs);
	const [gone, come] = [byStart(before, after), byStart(after, before)];
	return Array.from({ length: Math.max(gone.length, come.length) }, (_, i) => ({
		before: gone[i] ?? null,
		after: come[i] ?? null
	}));
}

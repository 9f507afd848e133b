import { describe, expect, it } from 'vitest';
import {
	at,
	planOf,
	problem,
	production,
	randomProblem,
	test,
	window
} from '#support/plan-problems.ts';
import {
	compareFigures,
	figuresOf,
	movesBetween,
	PLAN_FIGURES,
	valueOf,
	type Counted,
	type PlanFigure
} from './compare.ts';
import { USUAL_WEIGHTS, amountsOf, costOf } from './objective.ts';
import type { Slot } from './plan.ts';
import type { PlanProblem } from './problem.ts';

/** The rules of compare.ts by their numbers. */

function counted(given: PlanProblem, slots: readonly Slot[] = planOf(given).slots): Counted {
	return { problem: given, slots, unservable: [], weights: USUAL_WEIGHTS };
}

function values(of: Counted): Readonly<Record<PlanFigure, number>> {
	const entries = figuresOf(of).map((figure) => [figure.name, valueOf(figure)]);
	return Object.fromEntries(entries) as Record<PlanFigure, number>;
}

const SEEDS = [1, 2, 3, 4];
const random = (seed: number) =>
	randomProblem(seed, { roasters: 2, products: 10, tests: 6, load: 1.1 });

describe('the figures of a plan', () => {
	it('1: are counted by hand on a small week', () => {
		const given = problem({
			windows: [{ ...window(0, 8, 10), overtimeFromMs: at(0, 9) }],
			production: [
				production({ greenG: 120_000, dueMs: at(0, 9) }),
				production({ lotId: 2, greenG: 40_000, decaf: true, dueMs: at(0, 10) })
			],
			tests: [
				test({ dueMs: at(0, 8, 50) }),
				test({ testBatchId: 2, lotId: 8, notBeforeMs: at(3, 8) })
			]
		});
		// Warm-up to 8:30, the test to 8:45, two batches to 9:15, cleaning to 10:00: no room for the decaf.
		expect(values(counted(given))).toEqual({
			...{ placedG: 120_000, noRoomG: 40_000, noCoffeeG: 0, lateG: 60_000 },
			...{ testsPlaced: 1, testsLate: 0, testsLeft: 1 },
			...{ usedMin: 75, staffedMin: 60, overtimeMin: 15, cleaningMin: 0, changeovers: 0 },
			// 75 in use, 15 x 2 overtime, 60 kg late and 4 x 60 / 96 for a quarter of an hour, 40 x 40, 900.
			worth: 75 + 30 + 60 + 2.5 + 1600 + 900
		});
	});

	it('1: are the amounts that the plan is weighed by, and parts sum to them (seeded)', () => {
		for (const seed of SEEDS) {
			const given = random(seed);
			const plan = planOf(given);
			const amounts = amountsOf(given, plan);
			const of = values(counted(given, plan.slots));
			expect(of.lateG / 1000, `seed ${seed}`).toBeCloseTo(amounts.lateKg, 6);
			expect(of.noRoomG / 1000, `seed ${seed}`).toBeCloseTo(amounts.unplacedKg, 6);
			expect(of.testsLeft).toBe(amounts.unplacedTest);
			expect(of.testsLate).toBe(amounts.lateTest);
			expect(of.usedMin).toBeCloseTo(amounts.minuteInUse, 6);
			expect(of.overtimeMin).toBeCloseTo(amounts.overtimeMin, 6);
			expect(of.cleaningMin).toBeCloseTo(amounts.cleaningMin, 6);
			expect(of.worth).toBeCloseTo(costOf(given, plan, USUAL_WEIGHTS).total, 6);
		}
	});

	it('3: what has a slot and what has none sum to what is asked for (seeded)', () => {
		for (const seed of SEEDS) {
			const given = random(seed);
			const asked = given.production.reduce((sum, { greenG }) => sum + greenG, 0);
			const of = values(counted(given));
			expect(of.placedG + of.noRoomG, `seed ${seed}`).toBe(asked);
			expect(of.testsPlaced + of.testsLeft).toBe(given.tests.length);
		}
	});

	it('2: leave out what started before the plan, which still holds its need', () => {
		const given = problem({ production: [production()] });
		const slots = planOf(given).slots;
		const later = { ...given, fromMs: slots[0]!.startMs + 60_000 };
		expect(values(counted(later, slots))).toMatchObject({ placedG: 0, noRoomG: 0, usedMin: 0 });
	});
});

describe('two plans side by side', () => {
	it('a plan beside itself differs in nothing, and nothing moves (seeded)', () => {
		for (const seed of SEEDS) {
			const own = counted(random(seed));
			const figures = figuresOf(own);
			for (const { before, after, parts } of compareFigures(figures, figuresOf(own), null)) {
				expect(after).toBe(before);
				expect(parts.every((part) => part.before === part.after)).toBe(true);
			}
			expect(movesBetween(own.slots, own.slots)).toEqual([]);
		}
	});

	it('1: parts of either side sum to its value, those of one side alone too', () => {
		const [one, other] = [problem({ production: [production()] }), problem({ tests: [test()] })];
		const rows = compareFigures(figuresOf(counted(one)), figuresOf(counted(other)), null);
		expect(rows.map(({ name }) => name)).toEqual(PLAN_FIGURES);
		for (const { before, after, parts } of rows) {
			expect(parts.reduce((sum, part) => sum + part.before, 0)).toBeCloseTo(before, 6);
			expect(parts.reduce((sum, part) => sum + part.after, 0)).toBeCloseTo(after, 6);
		}
		expect(rows.find(({ name }) => name === 'placedG')).toMatchObject({ before: 60_000, after: 0 });
	});

	it('4: what no lot can give is counted, and not weighed', () => {
		const own = counted(problem({ production: [production()] }));
		const short = {
			...{
				kind: 'production' as const,
				lotId: 3,
				productId: 1,
				testBatchId: null,
				dueMs: at(4, 17)
			},
			...{ greenG: 7000, reason: [], wouldFit: null }
		};
		const with_ = values({ ...own, unservable: [short] });
		expect(with_).toEqual({ ...values(own), noCoffeeG: 7000 });
	});

	it('5: batches at their places stay, the others are paired by their starts', () => {
		const given = problem({ production: [production({ greenG: 180_000 })], tests: [test()] });
		const before = planOf(given).slots;
		const hour = 3_600_000;
		const moved = before.map((slot, i) =>
			i === 1 ? { ...slot, startMs: slot.startMs + hour, endMs: slot.endMs + hour } : slot
		);
		expect(movesBetween(before, moved)).toEqual([{ before: before[1], after: moved[1] }]);
		const without = before.filter(({ kind }) => kind !== 'test');
		const [gone] = movesBetween(before, without);
		expect(gone).toMatchObject({ before: { testBatchId: 1 }, after: null });
		expect(movesBetween(without, before)).toMatchObject([
			{ before: null, after: { kind: 'test' } }
		]);
	});
});

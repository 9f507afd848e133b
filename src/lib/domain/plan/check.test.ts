import { describe, expect, it } from 'vitest';
import { at, plain, planOf, problem, production, roaster, test } from '#support/plan-problems.ts';
import { checkPlan } from './check.ts';
import type { Slot, WeekPlan } from './plan.ts';

/**
 * A plan that keeps every rule, then one change for each rule that breaks it: the check must name that
 * rule. Monday 08:00 locked; light, medium, then decaf after a cleaning; two tests a cupping apart.
 */
const given = problem({
	roasters: [
		roaster(),
		roaster({ id: 2, name: 'Roaster B', minChargeG: 3000, maxChargeG: 15_000 })
	],
	production: [
		production({ lotId: 1, greenG: 150_000, shade: 'light', dueMs: at(0, 17) }),
		production({ lotId: 2, greenG: 55_000, decaf: true, dueMs: at(1, 17), notBeforeMs: at(1, 9) }),
		production({ lotId: 3, greenG: 1000, dueMs: at(4, 17) })
	],
	tests: [
		test({ testBatchId: 1, lotId: 9 }),
		test({ testBatchId: 2, lotId: 9, afterTestBatchId: 1 })
	],
	locked: [
		{
			kind: 'production',
			roasterId: 1,
			startMs: at(0, 8, 30),
			endMs: at(0, 8, 45),
			lotId: 7,
			productId: 1,
			testBatchId: null,
			chargeG: 40_000,
			dueMs: at(0, 17),
			traits: { ...plain, shade: 'light' }
		}
	]
});
const plan = planOf(given);
const MINUTE_MS = 60_000;

function rulesBroken(changed: WeekPlan): readonly string[] {
	return checkPlan(given, changed).map(({ path }) => path.split(',')[0]!);
}

/** The plan with the slot that `is` finds replaced. */
function withSlot(is: (slot: Slot) => boolean, change: (slot: Slot) => Slot): WeekPlan {
	const index = plan.slots.findIndex(is);
	if (index < 0) throw new Error('no such slot in the plan');
	return { ...plan, slots: plan.slots.with(index, change(plan.slots[index]!)) };
}

function moved(slot: Slot, minutes: number): Slot {
	return {
		...slot,
		startMs: slot.startMs + minutes * MINUTE_MS,
		endMs: slot.endMs + minutes * MINUTE_MS
	};
}

const isLot = (lotId: number) => (slot: Slot) => slot.lotId === lotId;
const isTest = (id: number) => (slot: Slot) => slot.testBatchId === id;

describe('the check of a plan', () => {
	it('finds nothing in a plan that keeps the rules', () => {
		expect(checkPlan(given, plan)).toEqual([]);
		expect(plan.unplaced).toHaveLength(1);
	});

	it('1: names a slot outside the windows, before the plan or on no roaster', () => {
		expect(rulesBroken(withSlot(isLot(2), (slot) => moved(slot, -3 * 60)))).toContain('rule 1');
		expect(rulesBroken(withSlot(isLot(2), (slot) => ({ ...slot, roasterId: 5 })))).toContain(
			'rule 1'
		);
		const later = { ...given, fromMs: at(0, 10) };
		expect(checkPlan(later, plan).map(({ path }) => path.split(',')[0])).toContain('rule 1');
	});

	it('2: names slots that overlap', () => {
		expect(rulesBroken(withSlot(isLot(1), (slot) => moved(slot, -5)))).toContain('rule 2');
	});

	it('3: names a charge beyond the limits and a test that is not the planned one', () => {
		const over = withSlot(isLot(2), (slot) => ({ ...slot, chargeG: 60_001 }));
		const under = withSlot(isLot(2), (slot) => ({ ...slot, chargeG: 19_999 }));
		const other = withSlot(isTest(1), (slot) => ({ ...slot, chargeG: 21_000 }));
		for (const changed of [over, under, other]) expect(rulesBroken(changed)).toContain('rule 3');
	});

	it('4: names a slot that is too short', () => {
		const short = (slot: Slot) => ({ ...slot, endMs: slot.endMs - 1 });
		expect(rulesBroken(withSlot(isLot(2), short))).toContain('rule 4');
	});

	it('5: names a first batch without warm-up', () => {
		const isFirst = (slot: Slot) => !slot.locked && slot.setup[0]?.kind === 'warm-up';
		const minutesIn = (slot: Slot) => ((slot.startMs - at(0, 8)) / MINUTE_MS) % (24 * 60);
		const early = (slot: Slot) => moved(slot, 29 - minutesIn(slot));
		expect(rulesBroken(withSlot(isFirst, early))).toContain('rule 5');
	});

	it('6: names a changeover that is left out', () => {
		const afterCleaning = (slot: Slot) => slot.setup.at(-1)?.kind === 'cleaning';
		expect(rulesBroken(withSlot(afterCleaning, (slot) => moved(slot, -1)))).toContain('rule 6');
		const asDecaf = (slot: Slot) => ({ ...slot, traits: { ...slot.traits, decaf: true } });
		expect(rulesBroken(withSlot(isLot(1), asDecaf))).toContain('rule 6');
	});

	it('7: names a test before the cupping of the one before it, or before its own date', () => {
		const cuppedMs = plan.slots.find(isTest(1))!.endMs + given.cuppingLagMs;
		const early = (slot: Slot) => moved(slot, (cuppedMs - slot.startMs) / MINUTE_MS - 1);
		expect(rulesBroken(withSlot(isTest(2), early))).toContain('rule 7');
		expect(rulesBroken({ ...plan, slots: plan.slots.filter((s) => !isTest(1)(s)) })).toContain(
			'rule 7'
		);
		const later = {
			...given,
			tests: given.tests.map((need) => ({ ...need, notBeforeMs: at(4, 15) }))
		};
		expect(checkPlan(later, plan).map(({ path }) => path.split(',')[0])).toContain('rule 7');
	});

	it('8: names a locked slot that moved, and one that is called locked and is not', () => {
		expect(
			rulesBroken(
				withSlot(
					(slot) => slot.locked,
					(slot) => moved(slot, 1)
				)
			)
		).toContain('rule 8');
		const all = { ...plan, slots: plan.slots.map((slot) => ({ ...slot, locked: true })) };
		expect(rulesBroken(all)).toContain('rule 8');
	});

	it('9: names mass that is lost, made or given to nobody, and tests that are lost', () => {
		const lost = { ...plan, slots: plan.slots.filter((slot) => slot.lotId !== 2) };
		const made = withSlot(isLot(2), (slot) => ({ ...slot, chargeG: slot.chargeG + 1 }));
		const silent = { ...plan, unplaced: [] };
		const noTest = { ...plan, slots: plan.slots.filter((slot) => !isTest(2)(slot)) };
		const stranger = withSlot(isLot(2), (slot) => ({ ...slot, productId: 99 }));
		const disguised = withSlot(isLot(2), (slot) => ({ ...slot, traits: plain }));
		for (const changed of [lost, made, silent, noTest, stranger, disguised]) {
			expect(rulesBroken(changed)).toContain('rule 9');
		}
	});

	it('10: names production before its lot may be used', () => {
		const early = withSlot(isLot(2), (slot) => ({
			...slot,
			startMs: at(1, 8, 59),
			endMs: at(1, 9, 14)
		}));
		expect(rulesBroken(early)).toContain('rule 10');
	});

	it('11: names lateness that is miscounted', () => {
		expect(rulesBroken({ ...plan, late: { ...plan.late, tests: 1 } })).toContain('rule 11');
		const dueEarlier = withSlot(isLot(1), (slot) => ({ ...slot, dueMs: slot.startMs }));
		expect(rulesBroken(dueEarlier)).toContain('rule 11');
	});

	it('12: names minutes that are miscounted or missing', () => {
		const [first, ...rest] = plan.roasters;
		const more = { ...plan, roasters: [{ ...first!, setupMin: first!.setupMin - 30 }, ...rest] };
		expect(rulesBroken(more)).toContain('rule 12');
		expect(rulesBroken({ ...plan, roasters: rest })).toContain('rule 12');
	});
});

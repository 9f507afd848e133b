import { describe, expect, it } from 'vitest';
import {
	at,
	plain,
	planOf,
	problem,
	production,
	roaster,
	test,
	window
} from '#support/plan-problems.ts';
import { giveWay, moveSlot, type StandingPlan } from './move.ts';
import { USUAL_WEIGHTS } from './objective.ts';
import type { PlanProblem } from './problem.ts';
import type { Placed } from './timeline.ts';

/** Two batches of 60 kg on Monday from 08:30, 15 min each, and a test of lot 9. */
const GIVEN = problem({
	production: [production({ greenG: 120_000 })],
	tests: [test({ dueMs: at(4, 18) })]
});

function standing(given: PlanProblem): StandingPlan {
	const { slots, unplaced } = planOf(given);
	return {
		slots: slots.map(({ traits, locked, setup: _, why: __, ...slot }): Placed => ({
			...{ slot, traits, locked }
		})),
		unplaced
	};
}

const starts = (slots: readonly { startMs: number }[]) => slots.map(({ startMs }) => startMs);
const move = (given: PlanProblem, index: number, startMs: number, roasterId = 1) =>
	moveSlot(given, standing(given), { index, roasterId, startMs }, USUAL_WEIGHTS);

describe('a move by hand', () => {
	it('puts the slot where it is put and leaves the others (rules 1, 2)', () => {
		const found = move(GIVEN, 2, at(1, 10));
		expect(starts(standing(GIVEN).slots.map(({ slot }) => slot))).toEqual([
			at(0, 8, 30),
			at(0, 8, 45),
			at(0, 9)
		]);
		expect(starts(found.after)).toEqual([at(0, 8, 30), at(0, 8, 45), at(1, 10)]);
		expect(found.clashes).toEqual([]);
		expect(found.gaveWay).toEqual([]);
	});

	it('says the warm-up that it adds, and what that costs (rule 5)', () => {
		const { setups, cost } = move(GIVEN, 2, at(1, 10));
		expect(setups).toEqual([
			{
				index: 2,
				change: 'added',
				setup: { kind: 'warm-up', minutes: 30, because: 'first batch of the shift' }
			}
		]);
		expect(cost.after.total - cost.before.total).toBe(30 * USUAL_WEIGHTS.minuteInUse);
	});

	it('makes later slots give way, in their order (rule 2)', () => {
		const found = move(GIVEN, 2, at(0, 8, 40));
		expect(starts(found.after)).toEqual([at(0, 8, 55), at(0, 9, 10), at(0, 8, 40)]);
		expect(found.gaveWay).toEqual([0, 1]);
		expect(found.clashes).toEqual([]);
	});

	it('says what becomes late, by how long (rule 5)', () => {
		const given = { ...GIVEN, tests: [test({ dueMs: at(0, 12) })] };
		const index = standing(given).slots.findIndex(({ slot }) => slot.kind === 'test');
		const { late, cost } = move(given, index, at(1, 12));
		expect(late).toEqual([{ index, beforeMin: 0, afterMin: 24 * 60 + 15 }]);
		expect(cost.after.amounts.lateTest).toBe(1);
	});

	it('clashes outside the shift, before the plan begins and without time to warm up (rule 4)', () => {
		const text = (startMs: number) => move(GIVEN, 2, startMs).clashes.map((one) => one.text);
		expect(text(at(0, 15, 50))).toEqual([
			'would run from 2026-11-30 15:50 to 2026-11-30 16:05, outside the hours of Roaster A'
		]);
		expect(text(at(1, 8, 15))).toEqual([
			'would have no time before it for its setup (warm-up 30 min)'
		]);
		const later = { ...GIVEN, fromMs: at(0, 8) };
		expect(move(later, 2, at(-1, 10)).clashes[0]!.text).toBe(
			'would start before 2026-11-30 08:00, the first time that can still be planned'
		);
	});

	it('clashes with a fixed slot, which stays (rules 2, 4)', () => {
		const plan = standing(GIVEN);
		const slots = plan.slots.map((one, i) => (i === 0 ? { ...one, locked: true } : one));
		const given = { ...GIVEN, locked: [{ ...slots[0]!.slot, traits: plain }] };
		const found = moveSlot(
			given,
			{ ...plan, slots },
			{ index: 2, roasterId: 1, startMs: at(0, 8, 40) },
			USUAL_WEIGHTS
		);
		expect(found.after[0]!.startMs).toBe(at(0, 8, 30));
		expect(found.clashes).toEqual([
			{
				index: 2,
				text: 'would start while the slot ahead of it runs, which ends 2026-11-30 08:45'
			}
		]);
	});

	it('clashes where a charge or a test does not suit the roaster (rule 4)', () => {
		const small = roaster({ id: 2, name: 'Roaster B', minChargeG: 2_000, maxChargeG: 15_000 });
		const given = {
			...GIVEN,
			roasters: [roaster(), small],
			windows: [...GIVEN.windows, window(1, 8, 16, 2)],
			production: [production({ greenG: 60_000 })]
		};
		const plan = standing(given);
		const text = (kind: string) => {
			const index = plan.slots.findIndex(({ slot }) => slot.kind === kind);
			return move(given, index, at(1, 10), 2).clashes.map((one) => one.text);
		};
		expect(text('production')).toEqual(['has a charge of 60 kg; Roaster B takes 2 kg to 15 kg']);
		expect(text('test')).toEqual([
			'is a test with settings for Roaster A; plan a test for Roaster B instead'
		]);
	});

	it('clashes where a test would come before the cupping of the one ahead (rule 4)', () => {
		const given = {
			...GIVEN,
			production: [],
			tests: [test(), test({ testBatchId: 2, afterTestBatchId: 1 })]
		};
		const found = move(given, 1, at(0, 12));
		expect(found.clashes).toEqual([
			{
				index: 1,
				text: 'would start before the test ahead of it is cupped, or before its lot is here'
			}
		]);
	});
});

describe('slots that give way', () => {
	it('take the next shift when theirs is full, and stay where nothing is left (rules 2, 3)', () => {
		const given = problem({ windows: [window(0, 8, 9), window(1, 8, 9)] });
		const placed = (hour: number, minute: number, locked = false): Placed => ({
			slot: {
				...{ kind: 'production', roasterId: 1, lotId: 1, productId: 1, testBatchId: null },
				...{ startMs: at(0, hour, minute), endMs: at(0, hour, minute + 15) },
				...{ chargeG: 20_000, dueMs: at(4, 17) }
			},
			traits: plain,
			locked
		});
		const delayed = placed(8, 42, true);
		const out = giveWay(given, [delayed, placed(8, 45)], (_, i) => i === 0);
		expect(out[1]!.slot.startMs).toBe(at(1, 8, 30));
		const one = { ...given, windows: [window(0, 8, 9)] };
		expect(giveWay(one, [delayed, placed(8, 45)], (_, i) => i === 0)[1]!.slot.startMs).toBe(
			at(0, 8, 45)
		);
	});
});

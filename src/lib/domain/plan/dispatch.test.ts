import { describe, expect, it } from 'vitest';
import {
	at,
	lock,
	plain,
	planOf,
	problem,
	production,
	roaster,
	test,
	window
} from '#support/plan-problems.ts';
import { checkPlan } from './check.ts';
import { dispatch } from './dispatch.ts';
import { needKey } from './problem.ts';

const small = roaster({ id: 2, name: 'Roaster B', minChargeG: 3000, maxChargeG: 15_000 });

describe('the plan by rule', () => {
	it('1: keeps a locked slot and counts it towards its need', () => {
		const given = problem({ production: [production({ greenG: 120_000 })] });
		const [first] = planOf(given).slots;
		const locked = [{ ...lock(first!), startMs: at(2, 10), endMs: at(2, 10, 15) }];
		const plan = planOf({ ...given, locked });
		expect(plan.slots.map(({ startMs, chargeG }) => [startMs, chargeG])).toEqual([
			[at(0, 8, 30), 60_000],
			[at(2, 10), 60_000]
		]);
		expect(plan.slots[1]!.why[1]).toMatch(/Locked by hand/);
	});

	it('2: places the earlier due first and a test early enough for the one that waits for it', () => {
		const plan = planOf(
			problem({
				production: [
					production({ lotId: 1, dueMs: at(3, 17) }),
					production({ lotId: 2, dueMs: at(2, 17) })
				],
				tests: [
					test({ testBatchId: 2, afterTestBatchId: 1, dueMs: at(2, 9) }),
					test({ testBatchId: 1, dueMs: at(4, 17) })
				]
			})
		);
		expect(plan.slots.map(({ lotId, startMs }) => [lotId, startMs])).toEqual([
			[9, at(0, 8, 30)],
			[2, at(0, 8, 45)],
			[1, at(0, 9)],
			[9, at(1, 8, 45)]
		]);
	});

	it('3: of equal due takes certified, uncertified, decaf, and light before dark', () => {
		const plan = planOf(
			problem({
				production: [
					production({ lotId: 1, decaf: true, shade: 'light' }),
					production({ lotId: 2, shade: 'dark' }),
					production({ lotId: 3, shade: 'light' }),
					production({ lotId: 4, certifiedOrganic: true, shade: 'dark' }),
					production({ lotId: 5, certifiedOrganic: true, shade: 'medium' })
				]
			})
		);
		expect(plan.slots.map(({ lotId }) => lotId)).toEqual([5, 4, 3, 2, 1]);
		expect(plan.slots.map(({ setup }) => setup.map(({ minutes }) => minutes))).toEqual([
			[30],
			[],
			[10],
			[],
			[45]
		]);
	});

	it('3: starts with what needs no cleaning after the batch before the plan', () => {
		const lastBatch = { ...plain, decaf: true };
		const needs = [production({ lotId: 1 }), production({ lotId: 2, decaf: true })];
		const plan = planOf(problem({ roasters: [roaster({ lastBatch })], production: needs }));
		expect(plan.slots.map(({ lotId }) => lotId)).toEqual([2, 1]);
	});

	it('4: fills as few, as even batches as the limits allow', () => {
		const plan = planOf(problem({ production: [production({ greenG: 130_000 })] }));
		expect(plan.slots.map(({ chargeG }) => chargeG)).toEqual([43_334, 43_333, 43_333]);
	});

	it('5: leaves warm-up each day and never crosses the end of a window', () => {
		const windows = [window(0, 8, 9), window(1, 8, 9)];
		const plan = planOf(problem({ windows, production: [production({ greenG: 240_000 })] }));
		expect(plan.slots.map(({ startMs }) => startMs)).toEqual([
			at(0, 8, 30),
			at(0, 8, 45),
			at(1, 8, 30),
			at(1, 8, 45)
		]);
	});

	it('5: uses a gap before a locked slot only when both setups fit', () => {
		const decaf = { ...plain, decaf: true };
		const locked = [
			{
				kind: 'production' as const,
				roasterId: 1,
				startMs: at(0, 9, 29),
				endMs: at(0, 9, 44),
				lotId: 8,
				productId: 8,
				testBatchId: null,
				chargeG: 30_000,
				dueMs: at(0, 17),
				traits: decaf
			}
		];
		const given = problem({ locked, production: [production()] });
		expect(planOf(given).slots[1]).toMatchObject({ lotId: 1, startMs: at(0, 10, 29) });
		const later = [{ ...locked[0]!, startMs: at(0, 9, 30), endMs: at(0, 9, 45) }];
		expect(planOf({ ...given, locked: later }).slots[0]).toMatchObject({
			lotId: 1,
			startMs: at(0, 8, 30)
		});
	});

	it('6: holds a test back until the one before it is cupped', () => {
		const tests = [
			test({ testBatchId: 1 }),
			test({ testBatchId: 2, afterTestBatchId: 1 }),
			test({ testBatchId: 3, afterTestBatchId: 2 })
		];
		const plan = planOf(problem({ tests, cuppingLagMs: 47 * 3_600_000 }));
		expect(plan.slots.map(({ startMs }) => startMs)).toEqual([
			at(0, 8, 30),
			at(2, 8, 30),
			at(4, 8, 30)
		]);
		expect(plan.slots[1]!.why).toContain('Not before 2026-12-02 07:45: cupping of test batch 1.');
	});

	it('7: takes a second roaster when the first alone would be late', () => {
		const windows = [window(0, 8, 16, 1), window(0, 8, 16, 2)];
		const needs = [production({ greenG: 75_000, dueMs: at(0, 8, 45) })];
		const plan = planOf(problem({ roasters: [roaster(), small], windows, production: needs }));
		expect(plan.slots.map(({ roasterId }) => roasterId)).toEqual([1, 2]);
		expect(plan.late).toEqual({ productionSlots: 0, productionG: 0, tests: 0 });
	});

	it('counts minutes of windows, batches and setups', () => {
		const needs = [production({ lotId: 1 }), production({ lotId: 2, decaf: true })];
		const plan = planOf(problem({ production: needs, tests: [test({ decaf: true })] }));
		expect(plan.roasters).toEqual([
			{
				roasterId: 1,
				availableMin: 5 * 8 * 60,
				productionMin: 30,
				testMin: 15,
				setupMin: 30 + 45,
				usedMin: 120
			}
		]);
	});

	it('refuses a problem that is unfit to plan, naming all of it', () => {
		const outcome = dispatch(
			problem({
				roasters: [roaster({ minChargeG: 70_000 })],
				windows: [window(0, 8, 16), window(0, 12, 20), window(1, 8, 16, 7)],
				production: [production(), production()],
				tests: [
					test({ testBatchId: 1, afterTestBatchId: 2 }),
					test({ testBatchId: 2, afterTestBatchId: 1, chargeG: 0.5 }),
					test({ testBatchId: 3, afterTestBatchId: 77, roasterId: 7 })
				]
			})
		);
		expect(outcome.ok).toBe(false);
		const paths = outcome.ok ? [] : outcome.problems.map(({ path }) => path);
		expect(paths).toEqual([
			'roaster Roaster A',
			`window of roaster 1 at ${at(0, 8)}`,
			`window of roaster 7 at ${at(1, 8)}`,
			`production need lot/product/due ${needKey(production())}`,
			'test batch 1',
			'test batch 2',
			'test batch 2',
			'test batch 3',
			'test batch 3'
		]);
	});
});

describe('what a plan cannot place', () => {
	it('says by how much a need is below the smallest charge', () => {
		const given = problem({ production: [production({ greenG: 18_200 })] });
		const [one] = planOf(given).unplaced;
		expect(one).toMatchObject({ greenG: 18_200, wouldFit: { kind: 'change need', byG: 1800 } });
		expect(one!.reason).toEqual([
			'18.2 kg asked; Roaster A takes 20 kg to 60 kg.',
			'Below every smallest charge.'
		]);
	});

	it('places full batches and names the rest that makes none', () => {
		const narrow = roaster({ minChargeG: 50_000, maxChargeG: 60_000 });
		const given = problem({
			roasters: [narrow],
			production: [production({ greenG: 75_000 })]
		});
		const plan = planOf(given);
		expect(plan.slots.map(({ chargeG }) => chargeG)).toEqual([60_000]);
		expect(plan.unplaced).toMatchObject([
			{ greenG: 15_000, wouldFit: { kind: 'change need', byG: -15_000 } }
		]);
		expect(checkPlan(given, plan)).toEqual([]);
	});

	it('says how much longer a shift would have to be', () => {
		const given = problem({
			windows: [window(0, 8, 9)],
			production: [production({ greenG: 180_000 })]
		});
		const plan = planOf(given);
		expect(plan.slots).toHaveLength(2);
		expect(plan.unplaced).toMatchObject([
			{
				greenG: 60_000,
				wouldFit: {
					kind: 'extend window',
					endMs: at(0, 9),
					byMin: 15,
					text: '15 min more on Roaster A after 2026-11-30 09:00 would hold it.'
				}
			}
		]);
	});

	it('names the test that must come first, and the charge the roaster takes', () => {
		const tests = [
			test({ testBatchId: 1, chargeG: 5000 }),
			test({ testBatchId: 2, afterTestBatchId: 1 })
		];
		expect(planOf(problem({ tests })).unplaced.map(({ wouldFit }) => wouldFit)).toMatchObject([
			{ kind: 'change charge', toG: 20_000 },
			{ kind: 'place first', testBatchId: 1 }
		]);
	});

	it('has nothing to say about an empty week, and says there is no shift when there is none', () => {
		expect(planOf(problem()).slots).toEqual([]);
		const plan = planOf(problem({ windows: [], production: [production()] }));
		expect(plan.unplaced[0]!.reason[0]).toMatch(/no shift in the plan/);
		expect(plan.unplaced[0]!.wouldFit).toMatchObject({ kind: 'add window', minutes: 45 });
	});
});

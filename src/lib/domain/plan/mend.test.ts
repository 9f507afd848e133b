import { describe, expect, it } from 'vitest';
import {
	at,
	planOf,
	problem,
	production,
	randomProblem,
	roaster,
	test,
	window
} from '#support/plan-problems.ts';
import { checkPlan } from './check.ts';
import { clashingFixed, mendPlan, type Stood } from './mend.ts';
import { USUAL_WEIGHTS, costOf } from './objective.ts';
import type { Slot, WeekPlan } from './plan.ts';
import type { PlanProblem } from './problem.ts';

/** The rules of mend.ts by their numbers. */

const how = { weights: USUAL_WEIGHTS, steps: 0, seed: 1 };

function stoodOf(given: PlanProblem, slots: readonly Slot[]): Stood {
	return {
		problem: given,
		slots: slots.map(({ traits, locked, setup: _, why: __, ...slot }) => ({ slot, traits, locked }))
	};
}

function mended(changed: PlanProblem, stood: Stood, over: Partial<typeof how> = {}): WeekPlan {
	const outcome = mendPlan(changed, stood, { ...how, ...over });
	if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
	return outcome.value;
}

const places = ({ slots }: Pick<WeekPlan, 'slots'>) =>
	slots.map((slot) => `${slot.roasterId} ${slot.startMs} ${slot.lotId} ${slot.chargeG}`).sort();

/** The windows of a problem without a stretch of one roaster. */
function stopped(given: PlanProblem, roasterId: number, fromMs: number, toMs: number): PlanProblem {
	const windows = given.windows.flatMap((one) => {
		if (one.roasterId !== roasterId || one.endMs <= fromMs || toMs <= one.startMs) return [one];
		const before = { ...one, endMs: Math.min(fromMs, one.endMs) };
		const after = { ...one, startMs: Math.max(toMs, one.startMs) };
		return [before, after].filter(({ startMs, endMs }) => startMs < endMs);
	});
	return { ...given, windows };
}

const SEEDS = [1, 2, 3, 4, 5];
const sizeOf = (seed: number) => ({
	...{ roasters: 1 + (seed % 3), products: 10, tests: 5, load: 0.7 }
});

describe('a plan bent to a changed problem', () => {
	it('1: to the same problem keeps every slot where it is (seeded)', () => {
		for (const seed of SEEDS) {
			const given = randomProblem(seed, sizeOf(seed));
			const plan = planOf(given);
			const after = new Set(places(mended(given, stoodOf(given, plan.slots))));
			expect(
				places(plan).filter((one) => !after.has(one)),
				`seed ${seed}`
			).toEqual([]);
		}
	});

	it('1: a roaster down has no slot in that time, and every rule is kept (seeded)', () => {
		for (const seed of SEEDS) {
			const given = randomProblem(seed, sizeOf(seed));
			const stood = stoodOf(given, planOf(given).slots);
			const [fromMs, toMs] = [at(seed % 4, 9), at((seed % 4) + 1, 12)];
			const changed = stopped(given, 1, fromMs, toMs);
			for (const steps of [0, 600]) {
				const plan = mended(changed, stood, { steps });
				const inside = plan.slots.filter(
					(slot) => slot.roasterId === 1 && slot.startMs < toMs && fromMs < slot.endMs
				);
				expect(inside, `seed ${seed}`).toEqual([]);
				expect(checkPlan(changed, plan), `seed ${seed}`).toEqual([]);
			}
		}
	});

	it('1: slots of a need that asks for another mass are split anew, those of others stay', () => {
		const given = problem({
			production: [production({ greenG: 60_000 }), production({ lotId: 2, greenG: 60_000 })]
		});
		const plan = planOf(given);
		const more = [given.production[0]!, production({ lotId: 2, greenG: 66_000 })];
		const after = mended({ ...given, production: more }, stoodOf(given, plan.slots));
		const charges = (lotId: number) =>
			after.slots.filter((slot) => slot.lotId === lotId).map(({ chargeG }) => chargeG);
		expect(charges(2)).toEqual([33_000, 33_000]);
		expect(charges(1)).toEqual([60_000]);
		const kept = after.slots.find(({ lotId }) => lotId === 1)!;
		expect(kept.startMs).toBe(plan.slots.find(({ lotId }) => lotId === 1)!.startMs);
		expect(kept.why[1]).toBe('Stays where it was planned before.');
		expect(kept.locked).toBe(false);
	});

	it('2: a slot in the stopped hours finds the next room; the others stay', () => {
		const given = problem({
			production: [production(), production({ lotId: 2 })],
			tests: [test({ notBeforeMs: at(2, 8) })]
		});
		const stood = stoodOf(given, planOf(given).slots);
		const changed = stopped(given, 1, at(0, 0), at(1, 0));
		const after = mended(changed, stood);
		expect(after.slots.map(({ startMs }) => startMs)).toEqual([
			at(1, 8, 30),
			at(1, 8, 45),
			at(2, 8, 30)
		]);
	});

	it('3: with steps it costs no more than mended without or planned anew, the same each time (seeded)', () => {
		for (const seed of SEEDS.slice(0, 3)) {
			const given = randomProblem(seed, sizeOf(seed));
			const stood = stoodOf(given, planOf(given).slots);
			const changed = stopped(given, 1, at(0, 0), at(1, 0));
			const cost = (plan: WeekPlan) => costOf(changed, plan, USUAL_WEIGHTS).total;
			const searched = mended(changed, stood, { steps: 600 });
			expect(cost(searched)).toBeLessThanOrEqual(cost(mended(changed, stood)) + 1e-6);
			expect(cost(searched)).toBeLessThanOrEqual(cost(planOf(changed)) + 1e-6);
			expect(mended(changed, stood, { steps: 600 })).toEqual(searched);
		}
	});

	it('names the fixed slots that break a rule where they are', () => {
		const given = problem({ roasters: [roaster()], production: [production()] });
		const [slot] = planOf(given).slots;
		const { setup: _, why: __, locked: ___, ...facts } = slot!;
		const locked = [facts];
		expect(clashingFixed({ ...given, locked }, USUAL_WEIGHTS)).toEqual([]);
		const windows = [window(1, 8, 16)];
		expect(clashingFixed({ ...given, locked, windows }, USUAL_WEIGHTS)).toEqual([0]);
	});
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { daysOfWeek } from '../quantity/week.ts';
import { explodeDemand } from './explosion.ts';
import type { BlendPart, ProductBlend } from './products.ts';
import {
	needsOf,
	planSuccession,
	type LotSupply,
	type Succession,
	type WeekAsked
} from './succession.ts';
import type { WeightLoss } from './weightLoss.ts';

/** Half is lost, so that green is twice the roasted and sums can be done in the head. */
const HALF: WeightLoss = { ratio: 0.5, basis: 'lot', batches: 2, because: '' };

function lot(lotId: number, stockG: number, other: Partial<LotSupply> = {}): LotSupply {
	return {
		...{ lotId, code: `L${lotId}`, readyDay: '2026-11-01', stockG, successorIds: [], loss: HALF },
		...other
	};
}

function week(
	name: string,
	roastedG: number,
	components: readonly BlendPart[],
	other: Partial<WeekAsked> = {}
): WeekAsked {
	const blend: ProductBlend = { productId: 1, code: 'P', name: 'P', components };
	return weekOfAll(name, [[blend, roastedG]], other);
}

function weekOfAll(
	name: string,
	asked: readonly (readonly [ProductBlend, number])[],
	other: Partial<WeekAsked> = {}
): WeekAsked {
	const blends = asked.map(([blend]) => blend);
	const losses = new Map(
		blends.flatMap(({ components }) => components.map(({ lotId }) => [lotId, HALF] as const))
	);
	const demand = asked.map(([{ productId }, roastedG]) => ({ productId, roastedG, week: name }));
	const needs = explodeDemand(blends, demand, losses);
	if (!needs.ok) throw new Error(needs.problems.map(({ message }) => message).join(' '));
	return {
		...{ week: name, isKnown: true, days: daysOfWeek(name), blends, needs: needs.value, made: [] },
		...other
	};
}

/** `week part>lot role roasted`, for reading at a glance. */
function read({ takes, shortages }: Succession): string[] {
	return [
		...takes.map((t) => `${t.week} ${t.partLotId}>${t.lotId} ${t.role} ${t.roastedG}`),
		...shortages.map((s) => `${s.week} ${s.lotId} short ${s.roastedG}`)
	];
}

const ONE = [{ lotId: 1, sharePermille: 1000 }];

describe('the succession of lots', () => {
	it('1, 2: takes from the named lot while it lasts, then from the one that replaces it', () => {
		// 300 g green give 150 g roasted: 100 in the first week, 50 in the second.
		const found = planSuccession(
			[lot(1, 300, { successorIds: [2] }), lot(2, 1000)],
			[week('2026-W49', 100, ONE), week('2026-W50', 100, ONE), week('2026-W51', 100, ONE)]
		);
		expect(read(found)).toEqual([
			'2026-W49 1>1 named 100',
			'2026-W50 1>1 named 50',
			'2026-W50 1>2 successor 50',
			'2026-W51 1>2 successor 100'
		]);
		expect(found.takes[2]!.because).toBe("L1 can't give more; L2 takes over from it.");
		// The first lot is asked for everything, the next for what the first can't give.
		expect(found.asked.get(1)!.map(({ greenG }) => greenG)).toEqual([200, 200, 200]);
		expect(found.asked.get(2)).toEqual([
			{ week: '2026-W50', greenG: 100 },
			{ week: '2026-W51', greenG: 200 }
		]);
		expect([...found.tookOver]).toEqual([2]);
	});

	it('2: asks stand-ins after all that replace the lot, in the order of the blend', () => {
		const part = [{ lotId: 1, sharePermille: 1000, substituteLotIds: [4, 3] }];
		const found = planSuccession(
			[lot(1, 20, { successorIds: [2] }), lot(2, 20), lot(3, 500), lot(4, 20)],
			[week('2026-W49', 100, part)]
		);
		expect(read(found)).toEqual([
			'2026-W49 1>1 named 10',
			'2026-W49 1>2 successor 10',
			'2026-W49 1>4 substitute 10',
			'2026-W49 1>3 substitute 70'
		]);
	});

	it('2: a lot serves first those who name it', () => {
		const first: ProductBlend = {
			...{ productId: 1, code: 'A', name: 'A' },
			components: [{ lotId: 1, sharePermille: 1000, substituteLotIds: [2] }]
		};
		const second = { ...first, productId: 2, components: [{ lotId: 2, sharePermille: 1000 }] };
		const found = planSuccession(
			[lot(1, 0), lot(2, 240)],
			[
				weekOfAll('2026-W49', [
					[first, 100],
					[second, 100]
				])
			]
		);
		expect(read(found)).toEqual([
			'2026-W49 2>2 named 100',
			'2026-W49 1>2 substitute 20',
			'2026-W49 1 short 80'
		]);
	});

	it('3: a lot that is ready on a Thursday gives at most four sevenths of the week', () => {
		// Monday to Wednesday are 3/7 of 700 g; the named lot gives 100 g of them.
		const lots = [
			lot(1, 200, { successorIds: [2, 3] }),
			lot(2, 600, { readyDay: '2026-12-03' }),
			lot(3, 5000, { readyDay: '2026-12-05' })
		];
		// Lot 3 comes on Saturday: two sevenths at most, and within the four of Thursday on.
		const found = planSuccession(lots, [week('2026-W49', 700, ONE)]);
		expect(read(found)).toEqual([
			'2026-W49 1>1 named 100',
			'2026-W49 1>2 successor 300',
			'2026-W49 1>3 successor 100',
			'2026-W49 1 short 200'
		]);
		expect(found.shortages[0]!.because).toBe(
			'L1 has nothing left, L2 has nothing left, L3 is expected ready 2026-12-05, too late for the whole week.'
		);
	});

	it('3: a lot without a day of release in sight gives nothing', () => {
		const lots = [lot(1, 0, { successorIds: [2] }), lot(2, 5000, { readyDay: null })];
		const found = planSuccession(lots, [week('2026-W49', 70, ONE)]);
		expect(found.takes).toEqual([]);
		expect(found.shortages[0]).toMatchObject({
			roastedG: 70,
			greenG: 140,
			because: 'L1 has nothing left, L2 has no day of release in sight.'
		});
	});

	it('4: shifts to other parts as far as both ranges allow', () => {
		// Of 1000 g lot 1 should give 600 and gives 200; it may go down to 400, so that 200 may shift; lot 2 may
		// go up to 550, which is 150 more.
		const blend = [
			{ lotId: 1, sharePermille: 600, leastPermille: 400 },
			{ lotId: 2, sharePermille: 400, mostPermille: 550 }
		];
		const found = planSuccession([lot(1, 400), lot(2, 5000)], [week('2026-W49', 1000, blend)]);
		expect(read(found)).toEqual([
			'2026-W49 1>1 named 200',
			'2026-W49 2>2 named 400',
			'2026-W49 1>2 shifted 150',
			'2026-W49 1 short 250'
		]);
		expect(found.takes[2]!.because).toBe(
			"L1 can't give more and may go down to 40 %; more of L2 makes up for it."
		);
	});

	it('5: what is roasted already counts and is not taken from stock again', () => {
		const made = [
			{ lotId: 2, productId: 1, chargeG: 100, outG: 48 },
			{ lotId: 9, productId: 1, chargeG: 100, outG: 48 }
		];
		const found = planSuccession(
			[lot(1, 20, { successorIds: [2] }), lot(2, 84)],
			[week('2026-W48', 100, ONE, { made, days: daysOfWeek('2026-W48').slice(2) })]
		);
		expect(read(found)).toEqual([
			'2026-W48 1>2 made 48',
			'2026-W48 1>1 named 10',
			'2026-W48 1>2 successor 42'
		]);
		// The same lot, product and week are one need; its green is what was charged and what is to come.
		expect(needsOf(found).map(({ lotId, greenG }) => [lotId, greenG])).toEqual([
			[2, 184],
			[1, 20]
		]);
	});

	it('refuses a lot that is not among the lots', () => {
		expect(() => planSuccession([], [week('2026-W49', 1, ONE)])).toThrow('lot 1 is asked for');
	});

	it('6: keeps every gram, no lot beyond its stock and none before it is ready', () => {
		const days = ['2026-11-23', '2026-12-03', '2026-12-07', '2026-12-13', null];
		const supply = fc.tuple(fc.integer({ min: 0, max: 900 }), fc.constantFrom(...days));
		const leeway = fc.record({
			share: fc.integer({ min: 1, max: 999 }),
			down: fc.nat(400),
			up: fc.nat(400),
			substitutes: fc.subarray([3, 4, 5])
		});
		const asked = fc.array(fc.nat(400), { minLength: 6, maxLength: 6 });
		fc.assert(
			fc.property(
				fc.array(supply, { minLength: 5, maxLength: 5 }),
				leeway,
				asked,
				(supplies, { share, down, up, substitutes }, demand) => {
					const lots = supplies.map(([stockG, readyDay], i) =>
						lot(i + 1, stockG, {
							...{ readyDay, successorIds: i === 0 ? [3] : i === 2 ? [4] : [] },
							loss: { ...HALF, ratio: 0.1 + 0.07 * i }
						})
					);
					const components = [
						{
							...{ lotId: 1, sharePermille: share, substituteLotIds: substitutes },
							leastPermille: Math.max(0, share - down)
						},
						{
							...{ lotId: 2, sharePermille: 1000 - share },
							mostPermille: Math.min(1000, 1000 - share + up)
						}
					];
					const weeks = [0, 1, 2].map((i) =>
						weekOfAll(`2026-W${48 + i}`, [
							[{ productId: 1, code: 'A', name: 'A', components }, demand[i]!],
							[{ productId: 2, code: 'B', name: 'B', components: ONE }, demand[i + 3]!]
						])
					);
					const found = planSuccession(lots, weeks);
					const all = [...found.takes, ...found.shortages];
					for (const [i, { week: name, days: left }] of weeks.entries()) {
						const ofWeek = all.filter((one) => one.week === name);
						for (const [productId, wanted] of [
							[1, demand[i]!],
							[2, demand[i + 3]!]
						] as const) {
							const own = ofWeek.filter((one) => one.productId === productId);
							expect(own.reduce((sum, one) => sum + one.roastedG, 0)).toBe(wanted);
						}
						for (const take of found.takes.filter((one) => one.week === name))
							expect(lots[take.lotId - 1]!.readyDay! <= left.at(-1)!).toBe(true);
						for (const from of left) {
							const late = found.takes.filter(
								(one) => one.week === name && lots[one.lotId - 1]!.readyDay! >= from
							);
							const lateG = late.reduce((sum, one) => sum + one.roastedG, 0);
							const most = ((demand[i]! + demand[i + 3]!) * (7 - left.indexOf(from))) / 7;
							if (from > left[0]!) expect(lateG).toBeLessThanOrEqual(most);
						}
					}
					for (const { lotId, stockG } of lots) {
						const taken = found.takes.filter((one) => one.lotId === lotId);
						expect(taken.reduce((sum, one) => sum + one.greenG, 0)).toBeLessThanOrEqual(stockG);
					}
					expect(all.every((one) => one.roastedG > 0)).toBe(true);
					expect(planSuccession(lots, weeks)).toEqual(found);
				}
			),
			{ numRuns: 60, seed: 5 }
		);
	});
});

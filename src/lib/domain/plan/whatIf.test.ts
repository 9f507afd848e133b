import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { hoursWith, lotsWith, ordersWith, type WhatIf } from './whatIf.ts';
import { windowsIn, type UsualWeek } from './hours.ts';

/** The rules of whatIf.ts by their numbers; amounts worked by hand. */

const WEEK = '2026-W48';
const rows = [
	{ productId: 1, week: WEEK, roastedG: 100_000 },
	{ productId: 2, week: WEEK, roastedG: 33_333 },
	{ productId: 1, week: '2026-W49', roastedG: 50_000 }
];
const blank = (productId: number, week: string) => ({ productId, week, roastedG: 0 });
const orders = (over: Partial<Extract<WhatIf, { kind: 'orders' }>>): WhatIf => ({
	...{ kind: 'orders', productId: null, percent: 0, addG: 0, weeks: 1 },
	...over
});
const grams = (...changes: WhatIf[]) =>
	ordersWith(rows, { week: WEEK, changes }, blank).map(({ roastedG }) => roastedG);
const usual: UsualWeek = {
	shifts: [1, 2, 3, 4, 5].map((weekday) => ({ roasterId: 1, weekday, startMin: 420, endMin: 900 })),
	...{ breaks: [], profiling: [], closures: [], overtimeMin: 0 }
};

describe('records with a change', () => {
	it('2: changes count one after the other', () => {
		expect(grams(orders({ percent: 10 }), orders({ percent: 10 }))[0]).toBe(121_000);
	});

	it('3: orders change in the weeks said, by percent and then by mass, never below zero', () => {
		expect(grams(orders({ percent: 20 }))).toEqual([120_000, 40_000, 50_000]);
		expect(grams(orders({ percent: 20, weeks: 2 }))).toEqual([120_000, 40_000, 60_000]);
		expect(grams(orders({ productId: 2, percent: 50, addG: 5000 }))[1]).toBe(55_000);
		expect(grams(orders({ percent: -100 }))).toEqual([0, 0, 50_000]);
	});

	it('3: a product without an order gets one where mass is added, in the order of the others', () => {
		const changes = [orders({ productId: 3, addG: 7000, weeks: 2 })];
		expect(ordersWith(rows, { week: WEEK, changes }, blank)).toEqual([
			rows[0],
			rows[1],
			{ productId: 3, week: WEEK, roastedG: 7000 },
			rows[2],
			{ productId: 3, week: '2026-W49', roastedG: 7000 }
		]);
		expect(grams(orders({ productId: 3, percent: 20 }))).toHaveLength(3);
	});

	it('4: a stoppage over days is the rest of the first, whole days and the start of the last', () => {
		const stoppage: WhatIf = {
			...{ kind: 'stoppage', roasterId: 1, fromDay: '2026-11-24', fromMin: 600 },
			...{ toDay: '2026-11-26', toMin: 480 }
		};
		const own = { kind: 'stoppage', roasterId: 1 };
		expect(hoursWith(usual, [stoppage]).days).toEqual([
			{ ...own, day: '2026-11-24', startMin: 600, endMin: 1440 },
			{ ...own, day: '2026-11-25', startMin: 0, endMin: 1440 },
			{ ...own, day: '2026-11-26', startMin: 0, endMin: 480 }
		]);
		const midnight = { ...stoppage, toDay: '2026-11-25', toMin: 0 };
		expect(hoursWith(usual, [midnight]).days).toHaveLength(1);
	});

	it('4: an extra shift without a roaster is hours of somebody for profiling', () => {
		const shift: WhatIf = {
			...{ kind: 'shift', roasterId: null, day: '2026-11-28' },
			...{ startMin: 420, endMin: 780 }
		};
		expect(hoursWith(usual, [shift]).days).toMatchObject([{ kind: 'profiling' }]);
		expect(hoursWith(usual, [{ ...shift, roasterId: 1 }]).days).toMatchObject([{ kind: 'shift' }]);
	});

	it('4: whatever a roaster’s stoppage, none of its windows reaches into it (seeded)', () => {
		const minute = fc.integer({ min: 0, max: 1439 });
		const day = fc.integer({ min: 23, max: 29 });
		fc.assert(
			fc.property(day, minute, day, minute, (fromDay, fromMin, toDay, toMin) => {
				const stoppage: WhatIf = {
					...{ kind: 'stoppage', roasterId: 1, fromDay: `2026-11-${fromDay}`, fromMin },
					...{ toDay: `2026-11-${toDay}`, toMin }
				};
				const at = (d: number, min: number) => Date.UTC(2026, 10, d, 0, min);
				const [fromMs, toMs] = [at(fromDay, fromMin), at(toDay, toMin)];
				const before = windowsIn(usual, WEEK, 'UTC');
				const after = windowsIn(hoursWith(usual, [stoppage]), WEEK, 'UTC');
				const minutes = (windows: typeof after) =>
					windows.reduce((sum, { startMs, endMs }) => sum + endMs - startMs, 0);
				const lost = before.reduce(
					(sum, w) => sum + Math.max(0, Math.min(w.endMs, toMs) - Math.max(w.startMs, fromMs)),
					0
				);
				expect(after.some((w) => w.startMs < toMs && fromMs < w.endMs && fromMs < toMs)).toBe(
					false
				);
				expect(minutes(before) - minutes(after)).toBe(lost);
			}),
			{ seed: 48, numRuns: 60 }
		);
	});

	it('6: a stoppage that is recorded already changes nothing', () => {
		const stoppage: WhatIf = {
			...{ kind: 'stoppage', roasterId: 1, fromDay: '2026-11-24', fromMin: 600 },
			...{ toDay: '2026-11-24', toMin: 720 }
		};
		const recorded = hoursWith(usual, [stoppage]);
		expect(hoursWith(recorded, [stoppage])).toBe(recorded);
	});

	it('5: a later arrival is of a lot that is still expected', () => {
		const lots = [
			{ id: 1, expectedOn: '2026-12-01' },
			{ id: 2, expectedOn: null }
		];
		const late = (lotId: number): WhatIf => ({ kind: 'arrival', lotId, day: '2026-12-09' });
		expect(lotsWith(lots, [late(1), late(2)])).toEqual([
			{ id: 1, expectedOn: '2026-12-09' },
			lots[1]
		]);
	});

	it('6: no change leaves every record as it is', () => {
		expect(ordersWith(rows, { week: WEEK, changes: [] }, blank)).toBe(rows);
		expect(hoursWith(usual, [])).toBe(usual);
		const lots = [{ id: 1, expectedOn: null }];
		expect(lotsWith(lots, [])).toBe(lots);
	});
});

import { describe, expect, it } from 'vitest';
import type { Roaster } from '../store/site.ts';
import type { Slot } from '../store/production.ts';
import { testSlots } from './testSlots.ts';

/** One roaster, Monday to Friday from 07:00 to 15:00 in winter time, 20 minutes a batch. */
const usual = {
	shifts: [1, 2, 3, 4, 5].map((weekday) => ({
		...{ roasterId: 1, weekday },
		...{ startMin: 7 * 60, endMin: 15 * 60 }
	})),
	...{ breaks: [], closures: [], profiling: [], days: [], overtimeMin: 0 }
};
const roasters = [{ id: 1, cycleMin: 20, maxChargeG: 15_000 }] as unknown as Roaster[];
const at = (hour: number, minute = 0) => Date.UTC(2026, 10, 25, hour, minute);
const facts = { zone: 'Europe/London', roasters, usual, needs: [] };
const today = (hour: number, slots: readonly Slot[] = []) =>
	testSlots({ ...facts, now: at(hour), slots })
		.filter(({ day }) => day === '2026-11-25')
		.map((found) => found.slots);

/** Production of this week, so that what it takes is known by the minute. */
const slot = (from: number, to: number) =>
	({
		kind: 'production',
		roasterId: 1,
		week: '2026-W48',
		startAt: at(from),
		endAt: at(to)
	}) as Slot;

describe('free test slots of today', () => {
	it('are those of the hours that are left', () => {
		expect(today(6)).toEqual([24]);
		expect(today(13)).toEqual([6]);
		expect(today(18)).toEqual([]);
	});

	it('lose what is left of the slot that runs, not what it took before', () => {
		expect(today(13, [slot(12, 14)])).toEqual([3]);
		expect(today(13, [slot(14, 15)])).toEqual([3]);
	});
});

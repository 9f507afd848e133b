import { describe, expect, it } from 'vitest';
import { freeSlots, slotDaysByLot, type DaySlots, type LotInLine } from './slotDays.ts';

const slot = (day: string, slots: number, roasterId = 1): DaySlots => ({ day, roasterId, slots });
const lot = (lotId: number, over: Partial<LotInLine> = {}): LotInLine => ({
	lotId,
	from: '2026-11-23',
	roasterIds: [1],
	tests: 1,
	apartDays: 2,
	...over
});

describe('days with a slot for a test', () => {
	it('1: have as many slots as batches fit into what production leaves', () => {
		const day = { day: '2026-11-23', roasterId: 1, openMin: 480 };
		const cycle = new Map([[1, 20]]);
		const of = (takenMin: number) => freeSlots([{ ...day, takenMin }], cycle)[0]!.slots;
		expect([of(0), of(461), of(460), of(480), of(999)]).toEqual([24, 0, 1, 0, 0]);
	});

	it('2: go to the lot that comes first in line', () => {
		const slots = [slot('2026-11-23', 1), slot('2026-11-24', 1), slot('2026-11-25', 1)];
		const found = slotDaysByLot(slots, [lot(7), lot(8)]);
		expect(found.get(7)).toEqual(['2026-11-23', '2026-11-24', '2026-11-25']);
		expect(found.get(8)).toEqual(['2026-11-24', '2026-11-25']);
	});

	it('2: of one lot lie a cycle apart, so that another may have those between', () => {
		const slots = ['23', '24', '25'].map((day) => slot(`2026-11-${day}`, 1));
		const found = slotDaysByLot(slots, [lot(7, { tests: 2 }), lot(8)]);
		expect(found.get(8)).toEqual(['2026-11-24']);
	});

	it('2: are on its roasters and not before it can be tested', () => {
		const slots = [slot('2026-11-23', 2, 1), slot('2026-11-24', 2, 2), slot('2026-11-26', 2, 1)];
		const found = slotDaysByLot(slots, [
			lot(7, { from: '2026-11-24' }),
			lot(8, { roasterIds: [2] })
		]);
		expect(found.get(7)).toEqual(['2026-11-26']);
		expect(found.get(8)).toEqual(['2026-11-24']);
	});

	it('2: of an hour on two roasters are one day', () => {
		const slots = [slot('2026-11-23', 1, 1), slot('2026-11-23', 1, 2)];
		expect(slotDaysByLot(slots, [lot(7, { roasterIds: [1, 2] })]).get(7)).toEqual(['2026-11-23']);
	});
});

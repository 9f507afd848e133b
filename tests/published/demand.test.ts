import { describe, expect, it } from 'vitest';
import { stockCover } from '#lib/domain/demand/cover.ts';
import { splitWhole } from '#lib/domain/quantity/share.ts';
import { releaseByOf } from '#lib/domain/demand/releaseBy.ts';

/** Largest remainder; the ten seats are a common textbook example of the method (from memory). */
describe('grams split by largest remainder', () => {
	it.each([
		[10_000, [1, 1, 1], [3334, 3333, 3333]],
		[10_000, [3, 3, 1], [4286, 4286, 1428]],
		[10, [47_000, 16_000, 15_900, 12_000, 6000, 3100], [5, 2, 1, 1, 1, 0]]
	])('%i over %j is %j', (totalG, weights, expected) => {
		expect(splitWhole(totalG, weights)).toEqual(expected);
	});
});

/** Stock used at a constant rate, as every inventory text has it: it lasts quantity over rate. */
describe('stock used at a constant rate', () => {
	const steady = (onHandG: number, gPerWeek: number) =>
		stockCover({
			today: '2026-11-30',
			onHandG,
			arrivals: [],
			needs: [{ week: '2026-W49', greenG: gPerWeek }],
			known: { from: '2026-W49', to: '2026-W49' }
		});

	// Hillier & Lieberman, speakers for television sets: a lot of 25,298 at 8,000 a month lasts 3.16 months,
	// printed as 3.2 (from memory). With a week for the month that is 22.1 days.
	it('lasts 3.2 periods for a lot of 25,298 at 8,000 a period', () => {
		const { coverDays, carriedGPerWeek } = steady(25_298, 8000);
		expect(carriedGPerWeek).toBe(8000);
		expect(coverDays).toBe(22);
	});

	// Reorder point without safety stock, rate x lead time: 100 a day over 4 days of lead time is 400.
	it('reaches the date to act today when the stock is the reorder point, and a day later above it', () => {
		const actBy = (onHandG: number) =>
			releaseByOf({
				neededOn: null,
				replaces: { code: 'before', cover: steady(onHandG, 700) },
				leadDays: 4
			}).releaseBy?.day;
		expect(actBy(400)).toBe('2026-11-30');
		expect(actBy(500)).toBe('2026-12-01');
	});
});

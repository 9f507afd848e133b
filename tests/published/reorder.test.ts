import { describe, expect, it } from 'vitest';
import { stockCover } from '#lib/domain/demand/cover.ts';
import { orderByOf } from '#lib/domain/demand/orderBy.ts';
import { daysBetween } from '#lib/domain/quantity/week.ts';

/**
 * The reorder point of a continuous-review system: demand d a day and lead time L days give d x L besides
 * safety stock. The exercise (d = 100 a day, L = 4 days, reorder point 465.79, of it 65.79 safety stock at
 * 95 %) is one that textbooks on inventory set; numbers from memory, recomputed.
 */
describe('order-by day', () => {
	it('is the day on which stock comes down to demand over the lead time: 465.79 - 65.79 = 400', () => {
		const [perDay, leadDays, onHand] = [100, 4, 1_500];
		const cover = stockCover({
			...{ today: '2026-11-23', onHandG: onHand, arrivals: [] },
			needs: ['2026-W48', '2026-W49', '2026-W50'].map((week) => ({ week, greenG: 7 * perDay })),
			known: { from: '2026-W48', to: '2026-W50' }
		});
		const order = orderByOf({
			...{ code: 'A', cover, tests: 0, cycleDays: 5, workedDays: 7 },
			...{ supplierLeadDays: leadDays, releaseLeadDays: 0 }
		})!;
		const left = onHand - perDay * daysBetween('2026-11-23', order.day);
		expect(left).toBeCloseTo(465.794_145_1 - 65.794_145_1, 6);
	});
});

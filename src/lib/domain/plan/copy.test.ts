import { describe, expect, it } from 'vitest';
import { at, problem, production, roaster } from '#support/plan-problems.ts';
import { copySlots, type Wish } from './copy.ts';

const wish = (startMs: number, over: Partial<Wish> = {}): Wish => ({
	...{ kind: 'production', roasterId: 1, startMs, lotId: 1, productId: 1, chargeG: 60_000 },
	...over
});
const GIVEN = problem({
	roasters: [roaster({ minChargeG: 10_000 })],
	production: [production({ greenG: 85_000 })]
});

describe('slots of the week before', () => {
	it('are copied as far as the week needs them (rule 1)', () => {
		const { slots, left } = copySlots(GIVEN, [
			wish(at(0, 9)),
			wish(at(1, 9)),
			wish(at(2, 9)),
			wish(at(3, 9), { lotId: 7 })
		]);
		expect(slots.map(({ startMs, chargeG }) => [startMs, chargeG])).toEqual([
			[at(0, 9), 60_000],
			[at(1, 9), 25_000]
		]);
		expect(left).toEqual([
			{
				index: 2,
				text: 'is not needed: 0 kg are left to plan, Roaster A takes 10 kg or more'
			},
			{ index: 3, text: 'is not needed by the orders of this week' }
		]);
	});

	it('are left where they would clash (rule 2)', () => {
		const { slots, left } = copySlots(GIVEN, [
			wish(at(0, 8, 10)),
			wish(at(0, 9)),
			wish(at(0, 9, 5)),
			wish(at(6, 9))
		]);
		expect(slots.map(({ startMs }) => startMs)).toEqual([at(0, 9)]);
		expect(left.map(({ text }) => text)).toEqual([
			'would have no time before it for its setup (warm-up 30 min)',
			'would start while the slot ahead of it runs, which ends 2026-11-30 09:15',
			'would run from 2026-12-06 09:00 to 2026-12-06 09:15, outside the hours of Roaster A'
		]);
	});

	it('are never tests (rule 3)', () => {
		const { left } = copySlots(GIVEN, [wish(at(0, 9), { kind: 'test', productId: null })]);
		expect(left).toEqual([{ index: 0, text: 'was a test, which is roasted once' }]);
	});
});

import { describe, expect, it } from 'vitest';
import { splitWhole } from '../quantity/share.ts';
import { explodeDemand, weeklyGreen } from './explosion.ts';
import type { ProductBlend } from './products.ts';
import { DEFAULT_WEIGHT_LOSS, weightLosses, type RoastYield } from './weightLoss.ts';

const lots = [
	{ lotId: 1, kind: 'washed' as const },
	{ lotId: 2, kind: 'natural' as const },
	{ lotId: 3, kind: 'washed' as const }
];
const yields: readonly RoastYield[] = [
	{ lotId: 1, kind: 'washed', batches: 1, chargeG: 10_000, outG: 8600 },
	{ lotId: 1, kind: 'washed', batches: 1, chargeG: 30_000, outG: 25_000 }
];
const losses = weightLosses(lots, yields);
const house: ProductBlend = {
	productId: 1,
	code: 'HB',
	name: 'House blend',
	components: [
		{ lotId: 1, sharePermille: 333 },
		{ lotId: 2, sharePermille: 667 }
	]
};
const single: ProductBlend = {
	productId: 2,
	code: 'S3',
	name: 'Single',
	components: [{ lotId: 3, sharePermille: 1000 }]
};

describe('weight loss to plan with', () => {
	it('is the mass-weighted mean of the lot, of its kind, or the stated default, and says which', () => {
		expect(losses.get(1)).toMatchObject({ ratio: 0.16, basis: 'lot', batches: 2 });
		expect(losses.get(3)).toMatchObject({ ratio: 0.16, basis: 'kind', batches: 2 });
		expect(losses.get(2)).toEqual({
			ratio: DEFAULT_WEIGHT_LOSS,
			basis: 'default',
			batches: 0,
			because: '16.0 % taken as usual: no batch of this or another natural lot was weighed.'
		});
		expect(losses.get(1)!.because).toBe('16.0 % measured on 2 batches of this lot.');
	});

	it('is the same of batches one by one as summed', () => {
		const summed = [
			{ lotId: 1, kind: 'washed' as const, batches: 2, chargeG: 40_000, outG: 33_600 }
		];
		expect(weightLosses(lots, summed)).toEqual(losses);
	});

	it('refuses a batch that gained weight', () => {
		const gained = [{ lotId: 1, kind: 'washed' as const, batches: 1, chargeG: 100, outG: 101 }];
		expect(() => weightLosses(lots, gained)).toThrow('lighter than they went in');
	});
});

describe('from demand to green coffee', () => {
	it('splits roasted grams by share so that they sum, and turns them green', () => {
		const outcome = explodeDemand(
			[house, single],
			[
				{ productId: 1, week: '2026-W49', roastedG: 100_001 },
				{ productId: 2, week: '2026-W49', roastedG: 42_000 },
				{ productId: 2, week: '2026-W50', roastedG: 0 }
			],
			losses
		);
		expect(outcome).toMatchObject({
			ok: true,
			value: [
				// 100,001 * .333 = 33,300.333; 100,001 * .667 = 66,700.667: the gram left goes to the second.
				{ lotId: 1, productId: 1, week: '2026-W49', roastedG: 33_300, greenG: 39_643 },
				{ lotId: 2, productId: 1, week: '2026-W49', roastedG: 66_701, greenG: 79_406 },
				{ lotId: 3, productId: 2, week: '2026-W49', roastedG: 42_000, greenG: 50_000 }
			]
		});
	});

	it('adds the needs of a lot by week', () => {
		const two = { ...single, productId: 3, components: [{ lotId: 1, sharePermille: 1000 }] };
		const demand = [
			{ productId: 3, week: '2026-W50', roastedG: 8400 },
			{ productId: 3, week: '2026-W49', roastedG: 8400 },
			{ productId: 4, week: '2026-W49', roastedG: 4200 }
		];
		const outcome = explodeDemand([two, { ...two, productId: 4 }], demand, losses);
		expect(outcome.ok && weeklyGreen(outcome.value).get(1)).toEqual([
			{ week: '2026-W49', greenG: 15_000 },
			{ week: '2026-W50', greenG: 10_000 }
		]);
	});

	it('loses and makes no gram, whatever the shares', () => {
		for (let totalG = 0; totalG < 400; totalG += 7) {
			const parts = splitWhole(totalG, [1, 498, 3, 250, 248]);
			expect(parts.reduce((sum, g) => sum + g, 0)).toBe(totalG);
			expect(Math.min(...parts)).toBeGreaterThanOrEqual(0);
		}
	});

	it('names everything wrong with blends and demand', () => {
		const wrong = {
			...house,
			components: [
				{ lotId: 1, sharePermille: 500 },
				{ lotId: 1, sharePermille: 0 },
				{ lotId: 8, sharePermille: 400 }
			]
		};
		const demand = [
			{ productId: 9, week: '2026-W49', roastedG: 1 },
			{ productId: 1, week: '2026-49', roastedG: -1 }
		];
		const outcome = explodeDemand([wrong], demand, losses);
		expect(outcome.ok ? [] : outcome.problems.map(({ message }) => message)).toEqual([
			'Lot 1 has a share of 0 thousandths; expected a whole number from 1.',
			'Lot 1 is named twice; expected once.',
			'The shares sum to 900 thousandths; expected 1000.',
			'Lot 8 has no weight loss; expected one for every lot of a blend.',
			'The product has no blend in that week.',
			'Found week "2026-49", expected one such as 2026-W48.',
			'Found -1 g, expected whole grams, 0 or more.'
		]);
	});
});

import { describe, expect, it } from 'vitest';
import { money } from '../quantity/money.ts';
import { priceBasis, type PriceBasisInput } from './priceBasis.ts';

const LOT: PriceBasisInput = {
	currency: 'GBP',
	landedPerKgE4: 84_000,
	weightLoss: 0.16,
	roasting: { cost: money(4200, 'GBP'), roastedG: 42_000, from: '4 batches' },
	testing: money(12_600, 'GBP'),
	producedG: 42_000,
	onHandG: 100_000
};

describe('cost of a roasted kilogram', () => {
	it('adds green, roasting and testing by hand (rules 1 to 4)', () => {
		// 8.40 / 0.84 = 10.00; 42.00 / 42 = 1.00; 126.00 / (42 + 100 * 0.84) = 1.00.
		const found = priceBasis(LOT);
		expect(found).toMatchObject({
			green: { perKgE4: 100_000 },
			roasting: { perKgE4: 10_000 },
			testing: { perKgE4: 10_000 },
			expectedRoastedG: 126_000,
			withoutTestingE4: 110_000,
			withTestingE4: 120_000
		});
		expect(found.green.howWorked).toBe('GBP 8.4000 a green kg over 1 less 16.0 % weight loss');
		expect(found.testing!.howWorked).toContain('GBP 126.00 net over 126');
	});

	it('rounds each line once, half up', () => {
		const found = priceBasis({ ...LOT, weightLoss: 0.151, testing: money(1, 'GBP') });
		expect(found.green.perKgE4).toBe(Math.round(84_000 / 0.849));
		expect(found.withTestingE4).toBe(
			found.green.perKgE4 + found.roasting!.perKgE4 + found.testing!.perKgE4
		);
	});

	it('takes a currency without minor decimals', () => {
		const found = priceBasis({
			...LOT,
			currency: 'UGX',
			roasting: null,
			testing: money(126, 'UGX')
		});
		expect(found.testing!.perKgE4).toBe(10_000);
	});

	it('gives no sum where a part is missing', () => {
		expect(priceBasis({ ...LOT, roasting: null })).toMatchObject({
			roasting: null,
			withoutTestingE4: null,
			withTestingE4: null
		});
		const nothing = priceBasis({ ...LOT, producedG: 0, onHandG: 0 });
		expect(nothing).toMatchObject({
			testing: null,
			withTestingE4: null,
			withoutTestingE4: 110_000
		});
	});

	it('refuses a weight loss that is none', () => {
		expect(() => priceBasis({ ...LOT, weightLoss: 1 })).toThrow(RangeError);
		expect(() => priceBasis({ ...LOT, weightLoss: -0.1 })).toThrow(RangeError);
	});
});

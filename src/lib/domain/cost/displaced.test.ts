import { describe, expect, it } from 'vitest';
import { money } from '../quantity/money.ts';
import { type DisplacedFrom, displacedByTests } from './displaced.ts';

/**
 * One roaster, cycle 15 min. HOUSE at 18.00 a kg: batches of 12 kg green, 10 kg out, that spent 90.00 each, so
 * that a kilogram earns 18 - 9 = 9.00.
 */
const FROM: DisplacedFrom = {
	currency: 'GBP',
	tests: [
		{ testId: 1, week: '2026-W40', roasterId: 1, machineS: 900 },
		{ testId: 2, week: '2026-W40', roasterId: 1, machineS: 900 }
	],
	orders: [
		{ week: '2026-W39', productId: 7, roastedG: 20_000 },
		{ week: '2026-W40', productId: 7, roastedG: 35_000 }
	],
	made: [
		{
			...{ week: '2026-W39', productId: 7, roasterId: 1 },
			...{ batches: 2, greenG: 24_000 },
			outG: 20_000,
			spentMinor: 18_000
		},
		{
			...{ week: '2026-W40', productId: 7, roasterId: 1 },
			...{ batches: 3, greenG: 36_000 },
			outG: 30_000,
			spentMinor: 27_000
		}
	],
	products: new Map([[7, { code: 'HOUSE', priceMinor: 1_800 }]]),
	roasters: new Map([[1, { cycleMin: 15, minChargeG: 4_800 }]]),
	runningWeek: '2026-W48'
};

describe('what tests displaced', () => {
	it('is what was unmet where the tests took longer than that (rules 1 to 4)', () => {
		// 35 - 30 = 5 kg unmet: one batch, 900 s of the 1,800 s of tests, and 5 * 9.00.
		const { weeks, tests } = displacedByTests(FROM);
		expect(weeks).toMatchObject([
			{ testS: 1_800, displacedS: 900, milliSlots: 1_000, margin: money(4_500, 'GBP') }
		]);
		expect(weeks[0]!.because).toBe(
			'15 min, the lesser of 30 min of tests and 15 min for what was ordered and not roasted: 5 kg of HOUSE (1 batch, GBP 45.00).'
		);
		// Shared evenly (rule 5).
		expect([...tests.values()]).toEqual([
			{ milliSlots: 500, margin: money(2_250, 'GBP') },
			{ milliSlots: 500, margin: money(2_250, 'GBP') }
		]);
	});

	it('is no more than the time the tests took (rule 3)', () => {
		const orders = [FROM.orders[0]!, { ...FROM.orders[1]!, roastedG: 130_000 }];
		const [week] = displacedByTests({ ...FROM, orders }).weeks;
		// 100 kg, 10 batches of 900.00 in all: two of them took the tests' half hour.
		expect(week).toMatchObject({
			displacedS: 1_800,
			milliSlots: 2_000,
			margin: money(18_000, 'GBP')
		});
	});

	it('is nothing where less is missing than the smallest charge gives (rule 2)', () => {
		// 4.8 kg green give 4 kg.
		const of = (roastedG: number) =>
			displacedByTests({
				...FROM,
				orders: [FROM.orders[0]!, { week: '2026-W40', productId: 7, roastedG }]
			}).weeks[0]!;
		expect(of(33_999).margin.minor).toBe(0);
		expect(of(33_999).because).toMatch(/^Nothing: .* no batch was missing/);
		expect(of(34_000).margin).toEqual(money(3_600, 'GBP'));
	});

	it('counts what was roasted ahead the week before (rule 1)', () => {
		const made = FROM.made.map((row) => (row.week === '2026-W39' ? { ...row, outG: 25_000 } : row));
		const [week] = displacedByTests({ ...FROM, made }).weeks;
		expect(week).toMatchObject({ displacedS: 0, margin: money(0, 'GBP') });
		expect(week!.because).toMatch(/^Nothing: by the end/);
	});

	it('is the same whatever other weeks it is asked with: usual is what was made up to it (rule 2)', () => {
		const dear = { ...FROM.made[0]!, spentMinor: 30_000 };
		const made = [...FROM.made, { ...dear, week: '2026-W41' }, { ...dear, week: '2026-W13' }];
		const tests = [...FROM.tests, { ...FROM.tests[0]!, testId: 3, week: '2026-W42' }];
		expect(displacedByTests({ ...FROM, made, tests }).weeks[0]).toEqual(
			displacedByTests(FROM).weeks[0]
		);
		// The earliest week that counts does change what is usual.
		const within = [...FROM.made, { ...dear, week: '2026-W15' }];
		expect(displacedByTests({ ...FROM, made: within }).weeks[0]!.margin.minor).toBeLessThan(4_500);
	});

	it('shares an uneven week so that the tests add up (rule 5)', () => {
		const tests = [1, 2, 3].map((testId) => ({ ...FROM.tests[0]!, testId, machineS: 601 }));
		const found = displacedByTests({ ...FROM, tests });
		const shares = [...found.tests.values()];
		expect(shares.reduce((all, { margin }) => all + margin.minor, 0)).toBe(4_500);
		expect(shares.reduce((all, { milliSlots }) => all + milliSlots, 0)).toBe(1_000);
	});

	it('says why it is nothing: the running week, no orders, another roaster', () => {
		const running = displacedByTests({ ...FROM, runningWeek: '2026-W40' }).weeks[0]!;
		expect([running.margin.minor, running.because]).toEqual([
			0,
			'The week is not over: its orders may still be met.'
		]);
		const none = displacedByTests({ ...FROM, orders: [] }).weeks[0]!;
		expect([none.margin.minor, none.because]).toEqual([
			0,
			'Nothing: no orders are recorded for this week.'
		]);
		const tests = [{ ...FROM.tests[0]!, roasterId: 2 }];
		expect(displacedByTests({ ...FROM, tests }).weeks[0]!.margin.minor).toBe(0);
	});

	it('never earns less than nothing: coffee sold below its cost displaces no margin', () => {
		const products = new Map([[7, { code: 'HOUSE', priceMinor: 100 }]]);
		expect(displacedByTests({ ...FROM, products }).weeks[0]!.margin.minor).toBe(0);
	});
});

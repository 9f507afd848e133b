import fc from 'fast-check';
import { batchCost, netTestCost } from '#lib/domain/cost/batch.ts';
import { RECOVERY_KINDS } from '#lib/domain/cost/recovery.ts';
import { money } from '#lib/domain/quantity/money.ts';
import type { ListedTest } from '#lib/server/views/costing.ts';

/** Costed tests of no roastery, whose lines nearly all need rounding. */

const whole = (min: number, max: number) => fc.integer({ min, max });

const aTest = fc
	.record({
		greenG: whole(1_000, 60_000),
		landedPerKgE4: whole(40_000, 400_000),
		gasWh: whole(0, 30_000),
		powerWh: whole(0, 9_000),
		labourMin: whole(0, 40),
		qualityMin: whole(0, 60),
		recoveries: fc.array(
			fc.record({
				kind: fc.constantFrom(...RECOVERY_KINDS),
				massG: whole(1, 900),
				minor: whole(0, 20_000),
				product: fc.constantFrom(null, 'House', 'Single')
			}),
			{ maxLength: 3 }
		),
		year: fc.constantFrom(2025, 2026),
		month: whole(1, 9),
		lot: whole(1, 9),
		country: fc.constantFrom('CO', 'ET', 'KE'),
		lotKind: fc.constantFrom('washed', 'natural'),
		supplier: fc.constantFrom('Harbour Green', '=1+2', ''),
		purpose: fc.constantFrom('First batch', 'Find the soak'),
		roasterId: whole(1, 2),
		milliSlots: whole(0, 1000),
		margin: whole(0, 9_999)
	})
	.map((of): Omit<ListedTest, 'testId' | 'number'> => {
		const batch = batchCost({
			...{ currency: 'GBP', greenG: of.greenG, landedPerKgE4: of.landedPerKgE4 },
			gas: { wh: of.gasWh, perKwhE4: 713, from: 'meter' },
			power: { wh: of.powerWh, perKwhE4: 2_647, from: 'rate' },
			...{ labourMin: of.labourMin, labourPerHourMinor: 1_877 },
			...{ machineMin: 15, machinePerHourMinor: 811 },
			depreciation: {
				...{ costMinor: 3_200_000, residualMinor: 400_000, lifeYears: 12, hoursPerYear: 1_600 }
			},
			...{ qualityMin: of.qualityMin, qualityPerHourMinor: 2_399 }
		});
		const recoveries = of.recoveries.map(({ kind, massG, minor, product }) => ({
			...{ kind, massG, product },
			value: money(kind === 'written off' ? 0 : minor, 'GBP')
		}));
		const outG = Math.round(of.greenG * 0.85);
		return {
			...netTestCost(batch, recoveries),
			...{ lotId: of.lot, lotCode: `L-${of.lot}`, lotName: `Lot ${of.lot}` },
			...{ lotKind: of.lotKind, country: of.country, supplier: of.supplier, purpose: of.purpose },
			...{ roasterId: of.roasterId, roasterName: `Drum ${of.roasterId}`, verdict: null },
			day: `${of.year}-0${of.month}-11`,
			roastedAt: Date.UTC(of.year, of.month - 1, 11),
			roastedG: outG,
			asRoasted: { cost: batch.total, greenG: of.greenG, outG },
			displaced: { milliSlots: of.milliSlots, margin: money(of.margin, 'GBP') }
		};
	});

/** Up to `most` tests, numbered. */
export function randomTests(most: number): fc.Arbitrary<ListedTest[]> {
	return fc
		.array(aTest, { minLength: 1, maxLength: most })
		.map((tests) => tests.map((test, i) => ({ ...test, testId: i + 1, number: i + 1 })));
}

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { money } from '../quantity/money.ts';
import { batchCost, netTestCost } from './batch.ts';
import { countedTests, postingsOf, type Posting } from './posting.ts';
import { RECOVERY_KINDS } from './recovery.ts';
import { type CostedTest, statementByMonth, testTotals, type TestTotals } from './statement.ts';

interface Of {
	readonly greenG: number;
	readonly priceE4: number;
	readonly qualityMin: number;
	readonly month: number;
	readonly recoveries: readonly { kind: number; massG: number; minor: number }[];
}

function testOf(
	{ greenG, priceE4, qualityMin, month, recoveries }: Of,
	testId: number
): CostedTest {
	const batch = batchCost({
		...{ currency: 'GBP', greenG, landedPerKgE4: priceE4, depreciation: null },
		gas: { wh: 9_001, perKwhE4: 713, from: 'rate' },
		power: { wh: 401, perKwhE4: 2_647, from: 'rate' },
		...{ labourMin: 10, labourPerHourMinor: 1_877, machineMin: 15, machinePerHourMinor: 811 },
		...{ qualityMin, qualityPerHourMinor: 2_399 }
	});
	const brought = recoveries.map(({ kind, massG, minor }) => ({
		...{ kind: RECOVERY_KINDS[kind]!, massG, value: money(minor, 'GBP') }
	}));
	return {
		...netTestCost(batch, brought),
		...{ testId, lotId: 1, day: `2026-0${month}-11`, roastedG: Math.round(greenG * 0.85) }
	};
}

const whole = (min: number, max: number) => fc.integer({ min, max });

/** What is known of a test at one time. */
const anOf = fc.record({
	greenG: whole(1_000, 60_000),
	priceE4: whole(40_000, 400_000),
	qualityMin: whole(0, 60),
	month: whole(1, 6),
	recoveries: fc.array(
		fc.record({ kind: whole(0, 2), massG: whole(1, 900), minor: whole(0, 20_000) }),
		{ maxLength: 3 }
	)
});

/** A test as it is known after each closing; null before it was recorded. The roast's month stays. */
const aHistory = fc
	.tuple(anOf, fc.array(anOf, { minLength: 3, maxLength: 3 }), whole(0, 3))
	.map(([first, later, from]) =>
		[first, ...later].map((of, i) => (i < from ? null : { ...of, month: first.month }))
	);

const figures = (totals: TestTotals) => [
	...[totals.tests, totals.greenG, totals.roastedG, totals.unaccountedG, totals.machineS],
	...[totals.cost, totals.recovered, totals.net].map(({ minor }) => minor),
	...Object.values(totals.byItem).map(({ minor }) => minor),
	...Object.values(totals.byRecovery).flatMap(({ massG, value }) => [massG, value.minor])
];

const figuresOf = (rows: readonly (TestTotals & { key: string })[], month: string) =>
	figures(rows.find(({ key }) => key === month)!);

describe('months once they are closed', () => {
	it('stay as they were closed, and all months sum to what is known (rules 2, 3)', () => {
		const closings = ['2026-02', '2026-03', '2026-05'];
		fc.assert(
			fc.property(fc.array(aHistory, { minLength: 1, maxLength: 12 }), (histories) => {
				const kept: Posting[] = [];
				const shown = new Map<string, number[]>();
				let openFrom: string | null = null;
				for (const [i, closing] of [...closings, null].entries()) {
					const known = histories.flatMap((history, id) => {
						const of = history[i];
						return of ? [testOf(of, id)] : [];
					});
					const counted = countedTests(known, kept, openFrom);
					const { rows, total } = statementByMonth(
						counted.map(({ test }) => test),
						'GBP'
					);
					expect(figures(total)).toEqual(figures(testTotals(known, 'GBP')));
					for (const [month, before] of shown)
						expect(figuresOf(rows, month), month).toEqual(before);
					if (closing === null) break;
					kept.push(...postingsOf(counted, closing));
					for (const row of rows)
						if (row.key <= closing) shown.set(row.key, figuresOf(rows, row.key));
					openFrom = `2026-0${Number(closing.slice(6)) + 1}`;
				}
			}),
			{ numRuns: 60 }
		);
	});

	it('take a late test into the first open month, and a late recovery alone without its test', () => {
		const of = { greenG: 10_000, priceE4: 70_000, qualityMin: 0, month: 1, recoveries: [] };
		const early = testOf(of, 1);
		const kept = postingsOf(countedTests([early], [], null), '2026-01');
		expect(kept).toMatchObject([{ testId: 1, month: '2026-01', amounts: { tests: 1 } }]);
		const back = testOf({ ...of, recoveries: [{ kind: 2, massG: 500, minor: 450 }] }, 1);
		const counted = countedTests([back, testOf(of, 2)], kept, '2026-02');
		expect(
			counted.map(({ test, roastedDay }) => [
				test.day,
				test.counted ?? 1,
				test.net.minor,
				roastedDay
			])
		).toEqual([
			['2026-01-11', 1, early.net.minor, '2026-01-11'],
			['2026-02-01', 0, -450, '2026-01-11'],
			['2026-02-01', 1, early.net.minor, '2026-01-11']
		]);
	});

	it('without a closing every test counts as it is (rule 1)', () => {
		const test = testOf({ greenG: 9, priceE4: 1, qualityMin: 1, month: 3, recoveries: [] }, 1);
		expect(countedTests([test], [], null)[0]!.test).toBe(test);
	});
});

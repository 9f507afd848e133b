import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { money } from '../quantity/money.ts';
import { batchCost, netTestCost } from './batch.ts';
import { RECOVERY_KINDS } from './recovery.ts';
import {
	type CostedTest,
	statementBy,
	statementByLot,
	statementByMonth,
	testTotals,
	type TestTotals
} from './statement.ts';

const whole = (min: number, max: number) => fc.integer({ min, max });

/** A costed test whose lines nearly all need rounding. */
const aTest = fc
	.record({
		greenG: whole(1, 60_000),
		landedPerKgE4: whole(40_000, 400_000),
		gasWh: whole(0, 30_000),
		powerWh: whole(0, 9_000),
		isMetered: fc.boolean(),
		labourMin: whole(0, 40),
		machineS: whole(0, 1_800),
		qualityMin: whole(0, 60),
		lifeYears: whole(0, 12),
		recoveries: fc.array(
			fc.record({
				kind: fc.constantFrom(...RECOVERY_KINDS),
				massG: whole(1, 900),
				minor: whole(0, 20_000)
			}),
			{ maxLength: 3 }
		),
		month: whole(1, 12),
		date: whole(1, 28),
		lotId: whole(1, 9),
		milliSlots: whole(0, 1000),
		margin: whole(0, 9_999)
	})
	.map((of): Omit<CostedTest, 'testId'> => {
		const from = of.isMetered ? ('meter' as const) : ('rate' as const);
		const batch = batchCost({
			currency: 'GBP',
			greenG: of.greenG,
			landedPerKgE4: of.landedPerKgE4,
			gas: { wh: of.gasWh, perKwhE4: 2_913, from },
			power: { wh: of.powerWh, perKwhE4: 2_647, from },
			labourMin: of.labourMin,
			labourPerHourMinor: 1_877,
			machineMin: of.machineS / 60,
			machinePerHourMinor: 4_211,
			depreciation: {
				...{ costMinor: 3_200_000, residualMinor: 399_999 },
				...{ lifeYears: of.lifeYears, hoursPerYear: 1_700 }
			},
			qualityMin: of.qualityMin,
			qualityPerHourMinor: 2_399
		});
		const recoveries = of.recoveries.map(({ kind, massG, minor }) => ({
			...{ kind, massG },
			value: money(kind === 'written off' ? 0 : minor, 'GBP')
		}));
		const two = (n: number) => String(n).padStart(2, '0');
		return {
			...netTestCost(batch, recoveries),
			lotId: of.lotId,
			day: `2026-${two(of.month)}-${two(of.date)}`,
			roastedG: 3_000,
			displaced: { milliSlots: of.milliSlots, margin: money(of.margin, 'GBP') }
		};
	});

/** Up to sixty tests, numbered. */
const someTests = fc
	.array(aTest, { minLength: 1, maxLength: 60 })
	.map((tests): CostedTest[] => tests.map((test, testId) => ({ ...test, testId })));

const sampled = (count: number, seed: number): CostedTest[] =>
	fc.sample(aTest, { numRuns: count, seed }).map((test, testId) => ({ ...test, testId }));

const figures = (totals: TestTotals) => [
	totals.tests,
	totals.greenG,
	totals.machineS,
	totals.cost.minor,
	totals.recovered.minor,
	totals.net.minor,
	totals.roastedG,
	totals.unaccountedG,
	totals.displaced.milliSlots,
	totals.displaced.margin.minor,
	...Object.values(totals.byItem).map((item) => item.minor),
	...Object.values(totals.byRecovery).flatMap(({ massG, value }) => [massG, value.minor])
];

const added = (rows: readonly TestTotals[]) =>
	rows.map(figures).reduce((sum, row) => sum.map((value, i) => value + (row[i] ?? Number.NaN)));

describe('the statement of tests', () => {
	it('adds up to the penny however it is cut (rule 1)', () => {
		fc.assert(
			fc.property(someTests, whole(1, 7), (all, parts) => {
				const total = figures(testTotals(all, 'GBP'));
				const cuts = [
					statementByMonth(all, 'GBP'),
					statementByLot(all, 'GBP'),
					statementBy(all, (test) => test.day, 'GBP'),
					statementBy(all, (test) => test.testId % parts, 'GBP')
				];
				for (const cut of cuts) {
					expect(added(cut.rows)).toEqual(total);
					expect(figures(cut.total)).toEqual(total);
				}
			}),
			{ numRuns: 60 }
		);
	});

	it('is the sum of the pence of every line and of every recovery (rule 1)', () => {
		fc.assert(
			fc.property(someTests, (all) => {
				// Big integers that know nothing of rows, items or kinds.
				const pence = (of: (test: CostedTest) => readonly { readonly minor: number }[]) =>
					Number(all.flatMap(of).reduce((sum, { minor }) => sum + BigInt(minor), 0n));
				const totals = testTotals(all, 'GBP');
				const cost = pence((test) => test.batch.lines.map((line) => line.money));
				const back = pence((test) => test.recoveries.map(({ value }) => value));
				expect(totals.cost.minor).toBe(cost);
				expect(totals.recovered.minor).toBe(back);
				expect(totals.net.minor).toBe(cost - back);
				const items = Object.values(totals.byItem).map((item) => item.minor);
				expect(items.reduce((sum, minor) => sum + minor)).toBe(cost);
				const kinds = Object.values(totals.byRecovery).map(({ value }) => value.minor);
				expect(kinds.reduce((sum, minor) => sum + minor)).toBe(back);
				expect(totals.byRecovery['written off'].value.minor).toBe(0);
			}),
			{ numRuns: 60 }
		);
	});

	it('keeps the tests each row comes from (rule 2), rows in the order of their keys', () => {
		const all = sampled(60, 9);
		const { rows } = statementByMonth(all, 'GBP');
		expect(rows.map((row) => row.key)).toEqual([...rows.map((row) => row.key)].sort());
		expect(rows.flatMap((row) => row.from.map((test) => test.testId)).sort()).toEqual(
			all.map((test) => test.testId).sort()
		);
		for (const row of rows) {
			expect(row.from.every((test) => test.day.startsWith(row.key))).toBe(true);
			expect(row.tests).toBe(row.from.length);
		}
		const lots = statementByLot(all, 'GBP').rows.map((row) => row.key);
		expect(lots).toEqual([...lots].sort((a, b) => a - b));
	});

	it('is zero of the currency for no tests, and never mixes currencies', () => {
		expect(statementByMonth([], 'GBP').rows).toEqual([]);
		expect(testTotals([], 'GBP').net).toEqual(money(0, 'GBP'));
		expect(() => testTotals(sampled(1, 1), 'USD')).toThrow("can't be put together");
	});
});

import { describe, expect, it } from 'vitest';
import { money } from '../quantity/money.ts';
import { batchCost, netTestCost } from './batch.ts';
import {
	type CostedTest,
	statementBy,
	statementByLot,
	statementByMonth,
	testTotals,
	type TestTotals
} from './statement.ts';

/** Tests whose lines nearly all need rounding, from a fixed linear congruential sequence. */
function tests(count: number, seed: number): CostedTest[] {
	let state = seed;
	const next = (below: number) => {
		state = (state * 1_103_515_245 + 12_345) % 2_147_483_648;
		return Math.floor((state / 2_147_483_648) * below);
	};
	return Array.from({ length: count }, (_, testId) => {
		const batch = batchCost({
			currency: 'GBP',
			greenG: 5_000 + next(55_000),
			landedPerKgE4: 40_000 + next(70_000),
			energyKwh: next(30_000) / 1000,
			energyPerKwhE4: 2_913,
			labourMin: next(40),
			labourPerHourMinor: 1_877,
			machineMin: next(1200) / 60,
			machinePerHourMinor: 4_211,
			qualityMin: next(60),
			qualityPerHourMinor: 2_399
		});
		const value = money(next(20_000), 'GBP');
		const recoveries = [{ kind: 'reduced' as const, massG: 4_000, value }];
		const month = String(1 + next(12)).padStart(2, '0');
		const day = `2026-${month}-${String(1 + next(28)).padStart(2, '0')}`;
		return { ...netTestCost(batch, recoveries), testId, lotId: 1 + next(40), day };
	});
}

const figures = (totals: TestTotals) => [
	totals.tests,
	totals.greenG,
	totals.machineS,
	totals.cost.minor,
	totals.recovered.minor,
	totals.net.minor,
	...Object.values(totals.byItem).map((item) => item.minor)
];

const added = (rows: readonly TestTotals[]) =>
	rows.map(figures).reduce((sum, row) => sum.map((value, i) => value + (row[i] ?? Number.NaN)));

describe('the statement of tests', () => {
	it('adds up to the penny however it is cut (rule 1)', () => {
		for (const seed of [1, 2, 3, 4, 5]) {
			const all = tests(400, seed);
			const total = figures(testTotals(all, 'GBP'));
			const cuts = [
				statementByMonth(all, 'GBP'),
				statementByLot(all, 'GBP'),
				statementBy(all, (test) => test.day, 'GBP'),
				statementBy(all, (test) => `${test.lotId % 3} ${test.day.slice(5, 7)}`, 'GBP')
			];
			for (const cut of cuts) {
				expect(cut.rows.length, `seed ${seed}`).toBeGreaterThan(2);
				expect(added(cut.rows), `seed ${seed}`).toEqual(total);
				expect(figures(cut.total), `seed ${seed}`).toEqual(total);
			}
			// Against a sum of pence that knows nothing of rows: the lines of every batch.
			const lines = all.flatMap((test) => test.batch.lines.map((line) => BigInt(line.money.minor)));
			const pence = Number(lines.reduce((sum, line) => sum + line, 0n));
			expect(total[3], `seed ${seed}`).toBe(pence);
			expect(total[3]! - total[4]!, `seed ${seed}`).toBe(total[5]);
			const green = all.map((test) => test.batch.lines[0]?.money.minor ?? Number.NaN);
			const { byItem, cost } = testTotals(all, 'GBP');
			expect(byItem.green.minor, `seed ${seed}`).toBe(green.reduce((sum, minor) => sum + minor));
			const items = Object.values(byItem).map((item) => item.minor);
			expect(
				items.reduce((sum, minor) => sum + minor),
				`seed ${seed}`
			).toBe(cost.minor);
		}
	});

	it('keeps the tests each row comes from (rule 2), rows in the order of their keys', () => {
		const all = tests(60, 9);
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
		expect(() => testTotals(tests(1, 1), 'USD')).toThrow("can't be put together");
	});
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { money } from '../quantity/money.ts';
import { batchCost, netTestCost } from './batch.ts';
import { USUAL_ACCOUNTS } from './accounts.ts';
import { balanceOf, journalLines } from './journal.ts';
import { type CostedTest, testTotals } from './statement.ts';

const aTest = fc
	.record({
		greenG: fc.integer({ min: 1, max: 60_000 }),
		wh: fc.integer({ min: 0, max: 20_000 }),
		value: fc.integer({ min: 0, max: 90_000 }),
		month: fc.integer({ min: 1, max: 12 })
	})
	.map(({ greenG, wh, value, month }): CostedTest => {
		const batch = batchCost({
			...{ currency: 'GBP', greenG, landedPerKgE4: 64_097 },
			gas: { wh, perKwhE4: 711, from: 'meter' },
			power: { wh, perKwhE4: 2_403, from: 'rate' },
			...{ labourMin: 10, labourPerHourMinor: 1_777, machineMin: 17, machinePerHourMinor: 901 },
			...{ depreciation: null, qualityMin: 50, qualityPerHourMinor: 2_203 }
		});
		const recovered = { kind: 'reduced' as const, massG: 1, value: money(value, 'GBP') };
		const day = `2026-${String(month).padStart(2, '0')}-11`;
		const net = netTestCost(batch, value === 0 ? [] : [recovered]);
		return { ...net, testId: 1, lotId: 1, day, roastedG: 1 };
	});

describe('the journal of tests', () => {
	it('balances each entry to the penny and leaves the net cost on the testing account (rules 2, 4)', () => {
		fc.assert(
			fc.property(fc.array(aTest, { maxLength: 25 }), (tests) => {
				const lines = journalLines(tests, USUAL_ACCOUNTS, 'GBP', '2027-01-31');
				for (const own of Map.groupBy(lines, ({ entry }) => entry).values())
					expect(balanceOf(own, 'GBP').minor).toBe(0);
				const totals = testTotals(tests, 'GBP');
				expect(balanceOf(lines, 'GBP', 'testing')).toEqual(totals.net);
				expect(balanceOf(lines, 'GBP', 'roasted')).toEqual(totals.recovered);
				expect(balanceOf(lines, 'GBP', 'green').minor).toBe(-totals.byItem.green.minor || 0);
				for (const { debit, credit } of lines) {
					expect(Math.min(debit.minor, credit.minor)).toBe(0);
					expect(Math.max(debit.minor, credit.minor)).toBeGreaterThan(0);
				}
			}),
			{ numRuns: 80 }
		);
	});

	it('is dated on the last day of a month that is over, else today (rule 1)', () => {
		const [first, second] = fc.sample(aTest, { numRuns: 2, seed: 4 });
		const tests = [
			{ ...first!, day: '2026-10-30' },
			{ ...second!, day: '2026-11-02' }
		];
		const lines = journalLines(tests, USUAL_ACCOUNTS, 'GBP', '2026-11-25');
		const days = [...new Set(lines.map(({ entry, day }) => `${entry} ${day}`))];
		expect(days).toEqual(['2026-10 2026-10-31', '2026-11 2026-11-25']);
		expect(journalLines([], USUAL_ACCOUNTS, 'GBP', '2026-11-25')).toEqual([]);
	});
});

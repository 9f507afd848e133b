import { describe, expect, it } from 'vitest';
import {
	at,
	plain,
	planOf,
	problem,
	production,
	roaster,
	test,
	window
} from '#support/plan-problems.ts';
import { USUAL_WEIGHTS, amountsOf, costOf, mapAmounts } from './objective.ts';

const decaf = { ...plain, decaf: true };

describe('the cost of a plan', () => {
	it('1: counts a late batch by its charge and by days', () => {
		const given = problem({
			production: [production({ greenG: 60_000, dueMs: at(0, 8, 45) - 18 * 3_600_000 })]
		});
		const amounts = amountsOf(given, planOf(given));
		expect(amounts).toMatchObject({ lateKg: 60, lateKgDay: 45, minuteInUse: 45 });
	});

	it('2: counts setups by kind, each changeover and cleaning once more', () => {
		const given = problem({ production: [production(), production({ lotId: 2, ...decaf })] });
		const amounts = amountsOf(given, planOf(given));
		// Warm-up 30, two batches of 15, a cleaning of 45.
		expect(amounts).toMatchObject({ minuteInUse: 105, cleaningMin: 45, changeover: 1 });
	});

	it('3: counts overtime to the end of the last slot after regular time', () => {
		const windows = [{ ...window(0, 8, 12), overtimeFromMs: at(0, 8, 50) }];
		const given = problem({ windows, production: [production({ greenG: 120_000 })] });
		// 08:30 to 09:00, the regular time over at 08:50.
		expect(amountsOf(given, planOf(given)).overtimeMin).toBe(10);
	});

	it('4: counts what has no slot by mass and by test', () => {
		const given = problem({
			roasters: [roaster({ minChargeG: 30_000 })],
			production: [production({ greenG: 7000 })],
			tests: [test({ chargeG: 20_000 })]
		});
		expect(amountsOf(given, planOf(given))).toMatchObject({ unplacedKg: 7, unplacedTest: 1 });
	});

	it('sums what the amounts are worth', () => {
		const given = problem({ production: [production(), production({ lotId: 2, ...decaf })] });
		const { total, parts } = costOf(given, planOf(given), USUAL_WEIGHTS);
		expect(total).toBe(105 + 45 + 5);
		expect(Object.values(parts).reduce((sum, part) => sum + part)).toBe(total);
		const none = mapAmounts(() => 0);
		expect(costOf(given, planOf(given), none).total).toBe(0);
	});
});

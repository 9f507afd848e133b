import { type Currency, type Money, sum } from '../quantity/money.ts';
import type { Day } from '../quantity/time.ts';
import { monthOf } from '../quantity/week.ts';
import { BATCH_ITEMS, type BatchItem, type NetTestCost } from './batch.ts';

/**
 * What testing cost, cut by month, by lot or by anything else a test has.
 *
 * 1. A figure is a sum of lines that were rounded when the batch was costed; nothing is rounded here, so
 *    every cut adds up to the same total.
 * 2. Each row keeps the tests it was summed from.
 */

/** A costed test with what it can be cut by. */
export interface CostedTest extends NetTestCost {
	readonly testId: number;
	readonly lotId: number;
	/** Day it was roasted, in the site's zone. */
	readonly day: Day;
}

export interface TestTotals {
	readonly tests: number;
	readonly greenG: number;
	/** Whole seconds on the roaster. */
	readonly machineS: number;
	readonly byItem: { readonly [item in BatchItem]: Money };
	readonly cost: Money;
	readonly recovered: Money;
	readonly net: Money;
}

export interface StatementRow<K, T extends CostedTest = CostedTest> extends TestTotals {
	readonly key: K;
	readonly from: readonly T[];
}

export interface Statement<K, T extends CostedTest = CostedTest> {
	/** In the order of their keys. */
	readonly rows: readonly StatementRow<K, T>[];
	readonly total: TestTotals;
}

/** The sums of tests; zeros of the currency when there are none. */
export function testTotals(tests: readonly CostedTest[], currency: Currency): TestTotals {
	const of = (pick: (test: CostedTest) => Money) => sum(tests.map(pick), currency);
	const item = (name: BatchItem) =>
		sum(
			tests
				.flatMap((test) => test.batch.lines.filter((line) => line.item === name))
				.map((line) => line.money),
			currency
		);
	const items = BATCH_ITEMS.map((name) => [name, item(name)] as const);
	return {
		tests: tests.length,
		greenG: tests.reduce((all, test) => all + test.batch.greenG, 0),
		machineS: tests.reduce((all, test) => all + test.batch.machineS, 0),
		byItem: Object.fromEntries(items) as Record<BatchItem, Money>,
		cost: of((test) => test.cost),
		recovered: of((test) => test.recovered),
		net: of((test) => test.net)
	};
}

/** A statement cut by any key of a test, with its total. */
export function statementBy<T extends CostedTest, K extends string | number>(
	tests: readonly T[],
	keyOf: (test: T) => K,
	currency: Currency
): Statement<K, T> {
	const groups = new Map<K, T[]>();
	for (const test of tests) {
		const key = keyOf(test);
		const group = groups.get(key);
		if (group) group.push(test);
		else groups.set(key, [test]);
	}
	const rows = [...groups]
		.sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0))
		.map(([key, from]) => ({ key, from, ...testTotals(from, currency) }));
	return { rows, total: testTotals(tests, currency) };
}

/** By the month of the site's calendar, `2026-11`. */
export function statementByMonth<T extends CostedTest>(tests: readonly T[], currency: Currency) {
	return statementBy(tests, (test) => monthOf(test.day), currency);
}

/** By lot. */
export function statementByLot<T extends CostedTest>(tests: readonly T[], currency: Currency) {
	return statementBy(tests, (test) => test.lotId, currency);
}

import { type Currency, type Money, money } from '../quantity/money.ts';
import type { Day } from '../quantity/time.ts';
import { monthOf } from '../quantity/week.ts';
import { BATCH_ITEMS, type BatchItem, type NetTestCost } from './batch.ts';
import type { Displaced } from './displaced.ts';
import { RECOVERY_KINDS, type RecoveryKind } from './recovery.ts';

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
	/** Day it counts on, in the site's zone: that of the roast, unless its month was closed by then. */
	readonly day: Day;
	/** 0 where this only changes a test that counts in a closed month (posting.ts); else 1. */
	readonly counted?: number;
	/** Roasted grams it gave. */
	readonly roastedG: number;
	/** What it kept off the roaster; left out where that isn't asked. */
	readonly displaced?: Displaced;
}

/** What became of roasted coffee in one way. */
export interface Recovered {
	/** Roasted grams. */
	readonly massG: number;
	readonly value: Money;
}

export interface TestTotals {
	readonly tests: number;
	readonly greenG: number;
	/** Roasted grams, and those of which nobody recorded what became of them. */
	readonly roastedG: number;
	readonly unaccountedG: number;
	/** Whole seconds on the roaster. */
	readonly machineS: number;
	readonly byItem: { readonly [item in BatchItem]: Money };
	readonly byRecovery: { readonly [kind in RecoveryKind]: Recovered };
	readonly cost: Money;
	readonly recovered: Money;
	readonly net: Money;
	/** An estimate, in none of the sums above. */
	readonly displaced: Displaced;
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

/**
 * The sums of tests; zeros of the currency when there are none.
 * @throws RangeError when a test is costed in another currency
 */
export function testTotals(tests: readonly CostedTest[], currency: Currency): TestTotals {
	const items = newSums(BATCH_ITEMS);
	const masses = newSums(RECOVERY_KINDS);
	const values = newSums(RECOVERY_KINDS);
	const all = newSums(SUMS);
	for (const test of tests) {
		if (test.cost.currency !== currency)
			throw new RangeError(`${test.cost.currency} and ${currency} can't be put together`);
		for (const line of test.batch.lines) items[line.item] += line.money.minor;
		for (const { kind, massG, value } of test.recoveries) {
			masses[kind] += massG;
			values[kind] += value.minor;
		}
		all.tests += test.counted ?? 1;
		all.greenG += test.batch.greenG;
		all.roastedG += test.roastedG;
		all.machineS += test.batch.machineS;
		all.cost += test.cost.minor;
		all.recovered += test.recovered.minor;
		all.slots += test.displaced?.milliSlots ?? 0;
		all.margin += test.displaced?.margin.minor ?? 0;
	}
	const of = (minor: number) => money(minor, currency);
	const used = RECOVERY_KINDS.reduce((sum, kind) => sum + masses[kind], 0);
	return {
		...{ tests: all.tests, greenG: all.greenG, machineS: all.machineS },
		...{ roastedG: all.roastedG, unaccountedG: all.roastedG - used },
		byItem: mapped(BATCH_ITEMS, (item) => of(items[item])),
		byRecovery: mapped(RECOVERY_KINDS, (kind) => ({
			massG: masses[kind],
			value: of(values[kind])
		})),
		cost: of(all.cost),
		recovered: of(all.recovered),
		net: of(all.cost - all.recovered),
		displaced: { milliSlots: all.slots, margin: of(all.margin) }
	};
}

const SUMS = [
	'tests',
	'greenG',
	'roastedG',
	'machineS',
	'cost',
	'recovered',
	'slots',
	'margin'
] as const;

function newSums<K extends string>(keys: readonly K[]): Record<K, number> {
	return mapped(keys, () => 0);
}

function mapped<K extends string, V>(keys: readonly K[], valueOf: (key: K) => V): Record<K, V> {
	return Object.fromEntries(keys.map((key) => [key, valueOf(key)])) as Record<K, V>;
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

import { type Currency, money, sum } from '../quantity/money.ts';
import type { Day } from '../quantity/time.ts';
import { monthOf } from '../quantity/week.ts';
import { BATCH_ITEMS, type BatchItem } from './batch.ts';
import { RECOVERY_KINDS, type Recovery, type RecoveryKind } from './recovery.ts';
import type { CostedTest } from './statement.ts';

/**
 * What tests count for in each month, once months are closed.
 *
 * 1. A test counts in the month it was roasted in.
 * 2. When a month is closed, what its tests count for is kept; a closed month shows what was kept, whatever
 *    is recorded afterwards.
 * 3. What a test amounts to by now, less all that was kept of it, counts on the first open day: a test that
 *    was recorded after its month was closed, or coffee recovered, a meter, a cupping or a rate that came
 *    late. So nothing is lost and nothing counts twice.
 */

/** Amounts of a test or of a part of it; with signs where they are a difference. */
export interface PostedAmounts {
	/** 1 where the test itself is in it, 0 where it only changes one that was counted before. */
	readonly tests: number;
	readonly greenG: number;
	readonly roastedG: number;
	readonly machineS: number;
	/** Minor units, in the order of `BATCH_ITEMS`. */
	readonly items: readonly number[];
	/** Roasted grams and minor units, each kind and product once. */
	readonly recovered: readonly {
		readonly kind: RecoveryKind;
		readonly product: string | null;
		readonly massG: number;
		readonly minor: number;
	}[];
}

/** What was kept of a test when a month was closed. */
export interface Posting {
	readonly testId: number;
	/** The month it counts in, `2026-10`. */
	readonly month: string;
	readonly amounts: PostedAmounts;
}

/** A part of a test with the day that it counts on; all of it unless something came late. */
export interface CountedTest<T extends CostedTest> {
	readonly test: T;
	/** The day that the test was roasted. */
	readonly roastedDay: Day;
	/** Whether it was kept when its month was closed. */
	readonly isKept: boolean;
}

/** The amounts of a test. */
export function amountsOf(test: CostedTest): PostedAmounts {
	const recovered = new Map<string, PostedAmounts['recovered'][number]>();
	for (const { kind, product = null, massG, value } of test.recoveries) {
		const key = `${kind}\n${product ?? ''}`;
		const had = recovered.get(key);
		recovered.set(key, {
			...{ kind, product, massG: massG + (had?.massG ?? 0) },
			minor: value.minor + (had?.minor ?? 0)
		});
	}
	const minorOf = (item: BatchItem) =>
		test.batch.lines.reduce((all, line) => (line.item === item ? all + line.money.minor : all), 0);
	return {
		...{ tests: test.counted ?? 1, greenG: test.batch.greenG, roastedG: test.roastedG },
		...{ machineS: test.batch.machineS, items: BATCH_ITEMS.map(minorOf) },
		recovered: [...recovered.values()]
	};
}

/** `a - b`, part by part. */
function difference(a: PostedAmounts, b: PostedAmounts): PostedAmounts {
	const lines = [
		...a.recovered,
		...b.recovered.map((r) => ({ ...r, massG: -r.massG, minor: -r.minor }))
	];
	const groups = Map.groupBy(lines, ({ kind, product }) => `${kind}\n${product ?? ''}`);
	const recovered = [...groups.values()].map((own) => ({
		...{ kind: own[0]!.kind, product: own[0]!.product },
		massG: own.reduce((all, { massG }) => all + massG, 0),
		minor: own.reduce((all, { minor }) => all + minor, 0)
	}));
	return {
		...{ tests: a.tests - b.tests, greenG: a.greenG - b.greenG },
		...{ roastedG: a.roastedG - b.roastedG, machineS: a.machineS - b.machineS },
		items: BATCH_ITEMS.map((_, i) => (a.items[i] ?? 0) - (b.items[i] ?? 0)),
		recovered: recovered.filter(({ massG, minor }) => massG !== 0 || minor !== 0)
	};
}

function isNothing({
	tests,
	greenG,
	roastedG,
	machineS,
	items,
	recovered
}: PostedAmounts): boolean {
	const sizes = [tests, greenG, roastedG, machineS, ...items];
	return recovered.length === 0 && sizes.every((size) => size === 0);
}

/** A test with other amounts, counted on another day. */
function withAmounts<T extends CostedTest>(test: T, amounts: PostedAmounts, day: Day): T {
	const { currency } = test.cost;
	const cost = money(
		amounts.items.reduce((all, minor) => all + minor, 0),
		currency
	);
	const recoveries = recoveriesOf(amounts, currency);
	const recovered = sum(
		recoveries.map(({ value }) => value),
		currency
	);
	const lines = BATCH_ITEMS.map((item, i) => ({
		item,
		money: money(amounts.items[i] ?? 0, currency)
	}));
	const { greenG, machineS, roastedG } = amounts;
	return {
		...test,
		...{ day, roastedG, counted: amounts.tests, cost, recoveries, recovered },
		batch: { ...test.batch, lines, total: cost, greenG, machineS },
		net: money(cost.minor - recovered.minor, currency)
	};
}

function recoveriesOf({ recovered }: PostedAmounts, currency: Currency): Recovery[] {
	const place = ({ kind }: { kind: RecoveryKind }) => RECOVERY_KINDS.indexOf(kind);
	return recovered
		.map(({ minor, ...rest }) => ({ ...rest, value: money(minor, currency) }))
		.sort((a, b) => place(a) - place(b));
}

/**
 * Tests by the day that they count on (rules 1 to 3). Without a closed month each counts as it is.
 * @param openFrom the first open month, null when none is closed
 */
export function countedTests<T extends CostedTest>(
	tests: readonly T[],
	postings: readonly Posting[],
	openFrom: string | null
): CountedTest<T>[] {
	if (openFrom === null) return tests.map((test) => asItIs(test, false));
	const keptOf = Map.groupBy(postings, ({ testId }) => testId);
	const firstDay = `${openFrom}-01`;
	return tests.flatMap((test) => {
		const kept = keptOf.get(test.testId) ?? [];
		const left = kept.reduce((rest, { amounts }) => difference(rest, amounts), amountsOf(test));
		const roastedDay = test.day;
		if (kept.length === 0 && roastedDay >= firstDay) return [asItIs(test, false)];
		if (kept.length === 1 && isNothing(left) && kept[0]!.month === monthOf(roastedDay))
			return [asItIs(test, true)];
		const counted = kept.map(({ month, amounts }) => {
			const day = month === monthOf(roastedDay) ? roastedDay : `${month}-01`;
			return { test: withAmounts(test, amounts, day), roastedDay, isKept: true };
		});
		if (isNothing(left)) return counted;
		const day = roastedDay < firstDay ? firstDay : roastedDay;
		return [...counted, { test: withAmounts(test, left, day), roastedDay, isKept: false }];
	});
}

function asItIs<T extends CostedTest>(test: T, isKept: boolean): CountedTest<T> {
	return { test, roastedDay: test.day, isKept };
}

/** What closing a month keeps: all that counts in it or before and was not kept yet (rule 2). */
export function postingsOf(counted: readonly CountedTest<CostedTest>[], month: string): Posting[] {
	return counted
		.filter(({ test, isKept }) => !isKept && monthOf(test.day) <= month)
		.map(({ test }) => ({
			testId: test.testId,
			month: monthOf(test.day),
			amounts: amountsOf(test)
		}));
}

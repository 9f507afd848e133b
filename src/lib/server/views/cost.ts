import type { BatchItem } from '#lib/domain/cost/batch.ts';
import type { LandedLine } from '#lib/domain/cost/landed.ts';
import { statementBy, testTotals, type TestTotals } from '#lib/domain/cost/statement.ts';
import { ratio } from '#lib/domain/quantity/decimal.ts';
import { scale, type Money } from '#lib/domain/quantity/money.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { Day, InstantMs } from '#lib/domain/quantity/time.ts';
import { addDays, dayOf, monthOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadLots, loadReleases, type Lot, type Release } from '../store/lots.ts';
import { requireSite } from '../store/site.ts';
import { loadCosting, type Costing, type ListedTest } from './costing.ts';

/** What a statement can be cut by, in the order in which it is offered. */
export const CUTS = ['month', 'lot', 'kind', 'roaster'] as const;
export type Cut = (typeof CUTS)[number];

/** Which tests are asked for; null is any. */
export type CostFilter = { readonly [cut in Cut]: string | null };

export interface StatementLine extends TestTotals {
	/** Value of the cut, also the filter's: `2026-10`, `HR-151`, `washed`, a roaster's name. */
	readonly key: string;
	/** What says more than the key: the lot's name. */
	readonly name: string | null;
	/** The running month: not yet whole. */
	readonly partial: boolean;
}

export interface StatementView {
	readonly currency: string;
	readonly cut: Cut;
	/** First and last day of the tests counted; `from` null counts all that were ever roasted. */
	readonly from: Day | null;
	readonly to: Day;
	/** Month of today. */
	readonly month: string;
	readonly lines: readonly StatementLine[];
	readonly total: TestTotals;
	/** Roasted tests that can't be costed, with what is missing. */
	readonly uncosted: readonly Problem[];
	readonly released: ReleasedView;
}

/** What lots that came to their first release in the period took. */
export interface ReleasedView {
	readonly lots: number;
	readonly tests: number;
	/** All tests of those lots, whenever they were roasted. */
	readonly net: Money;
	/** Null when no lot was released. */
	readonly netPerLot: Money | null;
	readonly testsPerLot: number | null;
	/** Fewest and most tests of one of them. */
	readonly fewest: number | null;
	readonly most: number | null;
	readonly codes: readonly string[];
}

/** Months of the statement, the running one included. */
const MONTHS = 12;

/** What testing cost, cut by `cut`; the last 12 months or, with `all`, everything. */
export async function loadStatement(
	db: Reader,
	now: InstantMs,
	cut: Cut,
	all: boolean
): Promise<StatementView> {
	const site = await requireSite(db);
	const today = dayOf(now, site.timeZone);
	const [costing, lots, releases] = await Promise.all([
		loadCosting(db, site),
		loadLots(db),
		loadReleases(db)
	]);
	const from = all ? null : firstDayOf(today);
	const tests = costing.tests.filter(({ day }) => from === null || day >= from);
	const statement = statementBy(tests, keyOf(cut), costing.currency);
	const nameOf = new Map(lots.map((lot) => [lot.code, lot.name]));
	const lines = statement.rows.map(({ from: _, ...row }) => ({
		...row,
		name: cut === 'lot' ? (nameOf.get(row.key) ?? null) : null,
		partial: cut === 'month' && row.key === monthOf(today)
	}));
	return {
		currency: costing.currency,
		cut,
		from,
		to: today,
		month: monthOf(today),
		lines: cut === 'month' && from ? everyMonth(lines, from, today, costing.currency) : lines,
		total: statement.total,
		uncosted: costing.uncosted,
		released: releasedView(costing, lots, releases, from, site.timeZone)
	};
}

/** The first day of the month eleven months before. */
function firstDayOf(today: Day): Day {
	return `${monthBefore(monthOf(today), MONTHS - 1)}-01`;
}

function monthBefore(month: string, n: number): string {
	let first: Day = `${month}-01`;
	for (let i = 0; i < n; i += 1) first = `${monthOf(addDays(first, -1))}-01`;
	return monthOf(first);
}

/** Months without a test cost nothing, and are shown. */
function everyMonth(
	lines: readonly StatementLine[],
	from: Day,
	to: Day,
	currency: string
): StatementLine[] {
	const known = new Map(lines.map((line) => [line.key, line]));
	const last = monthOf(to);
	return Array.from({ length: MONTHS }, (_, i) => monthBefore(last, MONTHS - 1 - i))
		.filter((month) => month >= monthOf(from))
		.map(
			(key) =>
				known.get(key) ?? { ...testTotals([], currency), key, name: null, partial: key === last }
		);
}

function keyOf(cut: Cut): (test: ListedTest) => string {
	switch (cut) {
		case 'month':
			return (test) => monthOf(test.day);
		case 'lot':
			return (test) => test.lotCode;
		case 'kind':
			return (test) => test.lotKind;
		case 'roaster':
			return (test) => test.roasterName;
	}
}

function releasedView(
	costing: Costing,
	lots: readonly Lot[],
	releases: readonly Release[],
	from: Day | null,
	zone: string
): ReleasedView {
	const firstOf = new Map<number, Day>();
	for (const { lotId, at } of releases)
		if (!firstOf.has(lotId)) firstOf.set(lotId, dayOf(at, zone));
	const counted = lots.filter((lot) => {
		const first = firstOf.get(lot.id);
		return first !== undefined && (from === null || first >= from);
	});
	const perLot = counted.map((lot) => costing.tests.filter((test) => test.lotId === lot.id));
	const { net, tests } = testTotals(perLot.flat(), costing.currency);
	const counts = perLot.map((own) => own.length);
	const isAny = counted.length > 0;
	return {
		lots: counted.length,
		tests,
		net,
		netPerLot: isAny ? scale(net, ratio(1, counted.length)) : null,
		testsPerLot: isAny ? tests / counted.length : null,
		fewest: isAny ? Math.min(...counts) : null,
		most: isAny ? Math.max(...counts) : null,
		codes: counted.map(({ code }) => code)
	};
}

export interface CostedTestView {
	readonly lotCode: string;
	readonly lotName: string;
	readonly number: number;
	readonly day: Day;
	readonly lotKind: string;
	readonly roasterName: string;
	readonly verdict: string | null;
	readonly greenG: number;
	readonly machineS: number;
	readonly byItem: { readonly [item in BatchItem]: Money };
	readonly cost: Money;
	readonly recovered: Money;
	readonly net: Money;
	/** How each line was worked out. */
	readonly howWorked: string;
}

export interface CostedTestsView {
	readonly currency: string;
	readonly tests: readonly CostedTestView[];
	readonly total: TestTotals;
	/** First day counted where no month is asked for; null counts all. */
	readonly from: Day | null;
}

/** The tests behind a figure of the statement, newest first. */
export async function loadCostedTests(
	db: Reader,
	now: InstantMs,
	filter: CostFilter,
	all: boolean
): Promise<CostedTestsView> {
	const site = await requireSite(db);
	const costing = await loadCosting(db, site);
	const from = all || filter.month !== null ? null : firstDayOf(dayOf(now, site.timeZone));
	const tests = costing.tests.filter(
		(test) =>
			(from === null || test.day >= from) &&
			CUTS.every((cut) => filter[cut] === null || keyOf(cut)(test) === filter[cut])
	);
	return {
		currency: costing.currency,
		tests: tests.map(testView).sort((a, b) => (a.day < b.day ? 1 : a.day > b.day ? -1 : 0)),
		total: testTotals(tests, costing.currency),
		from
	};
}

/** One costed test as it is listed and exported. */
export function testView(test: ListedTest): CostedTestView {
	const { batch } = test;
	return {
		lotCode: test.lotCode,
		lotName: test.lotName,
		number: test.number,
		day: test.day,
		lotKind: test.lotKind,
		roasterName: test.roasterName,
		verdict: test.verdict,
		greenG: batch.greenG,
		machineS: batch.machineS,
		byItem: testTotals([test], test.cost.currency).byItem,
		cost: test.cost,
		recovered: test.recovered,
		net: test.net,
		howWorked: [
			...batch.lines.map((line) => `${line.label} ${line.howWorked}`),
			test.howWorked
		].join('; ')
	};
}

export interface LandedView {
	readonly currency: string;
	readonly lots: readonly {
		readonly code: string;
		readonly name: string;
		readonly kind: string;
		/** Null without price terms. */
		readonly cost: {
			readonly receivedG: number;
			readonly perKgE4: number;
			readonly total: Money;
			readonly lines: readonly LandedLine[];
		} | null;
	}[];
}

/** The landed cost of every lot with its lines. */
export async function loadLanded(db: Reader): Promise<LandedView> {
	const site = await requireSite(db);
	const [costing, lots] = await Promise.all([loadCosting(db, site), loadLots(db)]);
	return {
		currency: site.currency,
		lots: lots.map((lot) => {
			const cost = costing.landed.get(lot.id);
			return {
				code: lot.code,
				name: lot.name,
				kind: lot.kind,
				cost: cost
					? {
							receivedG: cost.receivedG,
							perKgE4: cost.perKgE4,
							total: cost.total,
							lines: cost.lines
						}
					: null
			};
		})
	};
}

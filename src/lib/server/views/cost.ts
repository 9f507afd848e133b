import { batchCost, netWords, workedLines, type BatchItem } from '#lib/domain/cost/batch.ts';
import { daysOfPeriod, isPeriod } from '#lib/domain/cost/budget.ts';
import type { Displaced } from '#lib/domain/cost/displaced.ts';
import type { LandedLine } from '#lib/domain/cost/landed.ts';
import { RECOVERY_KINDS, type RecoveryKind } from '#lib/domain/cost/recovery.ts';
import { statementBy, testTotals, type TestTotals } from '#lib/domain/cost/statement.ts';
import { ratio } from '#lib/domain/quantity/decimal.ts';
import { formatMoney, scale, sum, type Money } from '#lib/domain/quantity/money.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { Day, InstantMs } from '#lib/domain/quantity/time.ts';
import { addDays, dayOf, monthOf, weekOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadLotRecords } from '../store/lotRecords.ts';
import type { Lot, Release } from '../store/lots.ts';
import { requireSite, type Site } from '../store/site.ts';
import {
	loadCosting,
	loadCounted,
	loadLotCosts,
	loadNormalLosses,
	testLoss,
	type Costing,
	type ListedTest,
	type NormalLossOf
} from './costing.ts';
import { loadDisplaced, type DisplacedWeekView } from './displaced.ts';
import { momentOf } from './moment.ts';
import { countryName } from './places.ts';
import { testHref } from './tests.ts';
import { momentWords } from './words.ts';

/** What a statement can be cut by, in the order in which it is offered. */
export const CUTS = ['month', 'lot', 'origin', 'kind', 'roaster', 'supplier', 'reason'] as const;
export type Cut = (typeof CUTS)[number];

/** Which tests are asked for; null is any. */
export type CostFilter = { readonly [cut in Cut]: string | null };

/** Any test. */
export const NO_FILTER = Object.fromEntries(CUTS.map((cut) => [cut, null])) as CostFilter;

/** Where nobody named a supplier. */
export const NO_SUPPLIER = 'no supplier named';

export interface CostQuestion {
	readonly cut: Cut;
	readonly filter: CostFilter;
	/** A month, a year, `all`, or null for the last 12 months. */
	readonly period: string | null;
}

/** Reads a question from an address; what makes no sense there is left out. */
export function costQuestion(params: URLSearchParams): CostQuestion {
	const asked = (name: string) => params.get(name) || null;
	const period = asked('period');
	return {
		cut: CUTS.find((cut) => cut === asked('by')) ?? 'month',
		filter: Object.fromEntries(CUTS.map((cut) => [cut, asked(cut)])) as CostFilter,
		period: period !== null && (period === 'all' || isPeriod(period)) ? period : null
	};
}

/** The address of a question, without its path: `by=lot&period=2026`. */
export function costQuery({ cut, filter, period }: CostQuestion): string {
	const asked = { by: cut === 'month' ? null : cut, ...filter, period };
	return new URLSearchParams(
		Object.entries(asked).filter((pair): pair is [string, string] => pair[1] !== null)
	).toString();
}

export interface StatementLine extends TestTotals {
	/** Value of the cut, also the filter's: `2026-10`, `HR-151`, `washed`, a roaster's name. */
	readonly key: string;
	/** What says more than the key: the lot's name, the country's. */
	readonly name: string | null;
	/** The running month: not yet whole. */
	readonly partial: boolean;
}

/** What became of test coffee in one way, in one product. */
export interface RecoveredLine {
	readonly kind: RecoveryKind;
	/** Null where it went into none. */
	readonly product: string | null;
	readonly massG: number;
	readonly value: Money;
	readonly tests: readonly { readonly label: string; readonly href: string }[];
}

export interface StatementView {
	readonly siteName: string;
	readonly currency: string;
	readonly cut: Cut;
	readonly filter: CostFilter;
	readonly period: string | null;
	/** Years and months with tests, and the one asked for; newest first. */
	readonly periods: readonly string[];
	/** First and last day of the tests counted; `from` null counts all that were ever roasted. */
	readonly from: Day | null;
	readonly to: Day;
	/** Month of today. */
	readonly month: string;
	/** Months before it are closed; null when none is. */
	readonly openFrom: string | null;
	readonly lines: readonly StatementLine[];
	readonly total: TestTotals;
	readonly recovered: readonly RecoveredLine[];
	/** Weeks of roasters in which tests displaced production. */
	readonly displaced: readonly DisplacedWeekView[];
	/** Other weeks with tests, counted by why nothing was displaced. */
	readonly nothingDisplaced: readonly { readonly because: string; readonly weeks: number }[];
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

/** The costed tests of a question with what they displaced, and what they were picked from. */
export interface Picked {
	readonly site: Site;
	readonly today: Day;
	readonly costing: Costing;
	readonly from: Day | null;
	readonly to: Day;
	/** The first month that is open; null when none is closed. */
	readonly openFrom: string | null;
	readonly tests: readonly ListedTest[];
	readonly weeks: readonly DisplacedWeekView[];
}

async function pick(db: Reader, now: InstantMs, question: CostQuestion): Promise<Picked> {
	const site = await requireSite(db);
	const today = dayOf(now, site.timeZone);
	const costing = await loadCosting(db, site);
	const { from, to } = daysAsked(question, today);
	const { filter } = question;
	const { counted, openFrom } = await loadCounted(db, costing.tests);
	const asked = counted
		.filter(({ test: { day } }) => (from === null || day >= from) && day <= to)
		.filter(({ test }) =>
			CUTS.every((cut) => filter[cut] === null || keyOf(cut)(test) === filter[cut])
		)
		.map(({ test, roastedDay }) =>
			monthOf(roastedDay) === monthOf(test.day) ? test : { ...test, lateFrom: roastedDay }
		);
	// A week's displaced time is shared among all its tests, so it is worked out on whole weeks, before any
	// test is left out: else months would not add up to their year.
	const ownWeeks = new Set(asked.map(({ day, lateFrom }) => weekOf(lateFrom ?? day)));
	const inWeeks = costing.tests.filter(({ day }) => ownWeeks.has(weekOf(day)));
	const displaced = await loadDisplaced(db, site, now, inWeeks);
	const tests = asked.map((test) =>
		test.counted === 0 ? test : { ...test, displaced: displaced.tests.get(test.testId)! }
	);
	const own = new Set(tests.map((test) => test.testId));
	const weeks = displaced.weeks.filter((week) => week.testIds.some((id) => own.has(id)));
	return { ...{ site, today, costing, from, to, openFrom, tests }, weeks };
}

function daysAsked({ filter, period }: CostQuestion, today: Day): { from: Day | null; to: Day } {
	if (period !== null && period !== 'all') {
		const { from, to } = daysOfPeriod(period);
		return { from, to: to < today ? to : today };
	}
	const any = period === 'all' || filter.month !== null;
	return { from: any ? null : firstDayOf(today), to: today };
}

/** What testing cost, cut as asked; of the last 12 months where no period is. */
export async function loadStatement(
	db: Reader,
	now: InstantMs,
	question: CostQuestion
): Promise<StatementView> {
	return statementOf(db, question, await pick(db, now, question));
}

/** A statement with the tests behind it, for the file. */
export async function loadStatementPaper(
	db: Reader,
	now: InstantMs,
	question: CostQuestion
): Promise<{
	readonly statement: StatementView;
	readonly tests: readonly CostedTestView[];
	readonly madeAt: string;
}> {
	const picked = await pick(db, now, question);
	return {
		statement: await statementOf(db, question, picked),
		tests: viewsOf(picked.tests, await loadNormalLosses(db)),
		madeAt: momentWords(momentOf(now, picked.site.timeZone))
	};
}

async function statementOf(
	db: Reader,
	question: CostQuestion,
	picked: Picked
): Promise<StatementView> {
	const records = [...(await loadLotRecords(db)).values()];
	const releases = records.flatMap(({ lot, events }) =>
		events.releasedAt.map((at) => ({ lotId: lot.id, at }))
	);
	const lots = records.map(({ lot }) => lot);
	return statementView(question, picked, lots, releases);
}

/** The statement of tests that were picked: sums, names and what they come from. */
export function statementView(
	question: CostQuestion,
	picked: Picked,
	lots: readonly Lot[],
	releases: readonly Pick<Release, 'lotId' | 'at'>[]
): StatementView {
	const { site, today, costing, from, to, tests } = picked;
	const { cut, filter, period } = question;
	const { currency } = costing;
	const statement = statementBy(tests, keyOf(cut), currency);
	const nameOf = namesOf(cut, lots);
	const lines = statement.rows.map(({ from: _, ...row }) => ({
		...row,
		name: nameOf(row.key),
		partial: cut === 'month' && row.key === monthOf(today)
	}));
	const isWhole = cut === 'month' && from !== null && CUTS.every((each) => filter[each] === null);
	return {
		siteName: site.name,
		...{ currency, cut, filter, period, from, to },
		periods: periodsOf([...costing.tests, ...tests], period),
		month: monthOf(today),
		openFrom: picked.openFrom,
		lines: isWhole ? everyMonth(lines, from, to, today, currency) : lines,
		total: statement.total,
		recovered: recoveredLines(tests, currency),
		displaced: picked.weeks.filter(({ displacedS }) => displacedS > 0),
		nothingDisplaced: reasonsOf(picked.weeks),
		uncosted: costing.uncosted,
		released: releasedView(costing, lots, releases, from, to, site.timeZone)
	};
}

function namesOf(cut: Cut, lots: readonly Lot[]): (key: string) => string | null {
	if (cut === 'origin') return (key) => countryName(key);
	if (cut !== 'lot') return () => null;
	const names = new Map(lots.map((lot) => [lot.code, lot.name]));
	return (key) => names.get(key) ?? null;
}

/** Years and months in which a test counts, and the one asked for; newest first, each year before its months. */
function periodsOf(tests: readonly ListedTest[], asked: string | null): string[] {
	const months = new Set(tests.map(({ day }) => monthOf(day)));
	const years = new Set([...months].map((month) => month.slice(0, 4)));
	if (asked !== null && asked !== 'all') {
		years.add(asked.slice(0, 4));
		if (asked.length > 4) months.add(asked);
	}
	const newest = [...months].sort().reverse();
	return [...years]
		.sort()
		.reverse()
		.flatMap((year) => [year, ...newest.filter((month) => month.startsWith(year))]);
}

/** By kind in the order of `RECOVERY_KINDS`, then by product. */
function recoveredLines(tests: readonly ListedTest[], currency: string): RecoveredLine[] {
	const parts = tests.flatMap((test) => test.recoveries.map((part) => ({ test, ...part })));
	const groups = Map.groupBy(parts, ({ kind, product }) => `${kind}\n${product ?? ''}`);
	const lines = [...groups.values()].map((own): RecoveredLine => {
		const { kind, product } = own[0]!;
		const tests = new Map(
			own.map(({ test }) => [
				test.testId,
				{
					label: `${test.lotCode} test ${test.number}`,
					href: `${testHref(test.lotCode, test.number)}#recovery`
				}
			])
		);
		return {
			...{ kind, product: product ?? null, tests: [...tests.values()] },
			massG: own.reduce((all, { massG }) => all + massG, 0),
			value: sum(
				own.map(({ value }) => value),
				currency
			)
		};
	});
	const place = ({ kind }: RecoveredLine) => RECOVERY_KINDS.indexOf(kind);
	return lines.sort(
		(a, b) => place(a) - place(b) || ((a.product ?? '') < (b.product ?? '') ? -1 : 1)
	);
}

function reasonsOf(weeks: readonly DisplacedWeekView[]): StatementView['nothingDisplaced'] {
	const none = weeks.filter(({ displacedS }) => displacedS === 0);
	return [...Map.groupBy(none, ({ because }) => because)].map(([because, own]) => ({
		because,
		weeks: own.length
	}));
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
	today: Day,
	currency: string
): StatementLine[] {
	const known = new Map(lines.map((line) => [line.key, line]));
	const months: string[] = [];
	for (let month = monthOf(to); month >= monthOf(from); month = monthBefore(month, 1))
		months.unshift(month);
	return months.map(
		(key) =>
			known.get(key) ?? {
				...testTotals([], currency),
				...{ key, name: null, partial: key === monthOf(today) }
			}
	);
}

function keyOf(cut: Cut): (test: ListedTest) => string {
	switch (cut) {
		case 'month':
			return (test) => monthOf(test.day);
		case 'lot':
			return (test) => test.lotCode;
		case 'origin':
			return (test) => test.country;
		case 'kind':
			return (test) => test.lotKind;
		case 'roaster':
			return (test) => test.roasterName;
		case 'supplier':
			return (test) => test.supplier || NO_SUPPLIER;
		case 'reason':
			return (test) => test.purpose;
	}
}

function releasedView(
	costing: Costing,
	lots: readonly Lot[],
	releases: readonly Pick<Release, 'lotId' | 'at'>[],
	from: Day | null,
	to: Day,
	zone: string
): ReleasedView {
	const firstOf = new Map<number, Day>();
	for (const { lotId, at } of releases)
		if (!firstOf.has(lotId)) firstOf.set(lotId, dayOf(at, zone));
	const counted = lots.filter((lot) => {
		const first = firstOf.get(lot.id);
		return first !== undefined && (from === null || first >= from) && first <= to;
	});
	const testsOf = Map.groupBy(costing.tests, ({ lotId }) => lotId);
	const perLot = counted.map((lot) => testsOf.get(lot.id) ?? []);
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
	/** The day of the roast. */
	readonly day: Day;
	/** The month it counts in. */
	readonly month: string;
	/** Why that is not the month of the roast; null where it is. */
	readonly late: string | null;
	readonly lotKind: string;
	readonly country: string;
	readonly supplier: string;
	readonly reason: string;
	readonly roasterName: string;
	readonly verdict: string | null;
	readonly greenG: number;
	readonly roastedG: number;
	readonly machineS: number;
	readonly byItem: { readonly [item in BatchItem]: Money };
	readonly byRecovery: TestTotals['byRecovery'];
	readonly unaccountedG: number;
	readonly cost: Money;
	readonly recovered: Money;
	readonly net: Money;
	readonly displaced: Displaced;
	/** Loss beyond the normal one, roasted grams; below zero for a gain. */
	readonly abnormalG: number;
	readonly abnormal: Money;
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
	question: CostQuestion
): Promise<CostedTestsView> {
	const { costing, from, tests } = await pick(db, now, question);
	return {
		currency: costing.currency,
		tests: viewsOf(tests, await loadNormalLosses(db)),
		total: testTotals(tests, costing.currency),
		from
	};
}

function viewsOf(tests: readonly ListedTest[], lossOf: NormalLossOf): CostedTestView[] {
	return tests.map((test) => testView(test, lossOf)).sort(newestFirst);
}

function newestFirst(a: CostedTestView, b: CostedTestView): number {
	return a.day < b.day ? 1 : a.day > b.day ? -1 : 0;
}

/** The costed tests of a question as the rules take them, for papers and the journal. */
export async function loadPickedTests(
	db: Reader,
	now: InstantMs,
	question: CostQuestion
): Promise<{ site: Site; today: Day; currency: string; tests: readonly ListedTest[] }> {
	const { site, today, costing, tests } = await pick(db, now, question);
	return { site, today, currency: costing.currency, tests };
}

/** One costed test as it is listed and exported. */
export function testView(test: ListedTest, lossOf: NormalLossOf): CostedTestView {
	const { batch } = test;
	const loss = testLoss(test, lossOf);
	const { byItem, byRecovery, unaccountedG, displaced } = testTotals([test], test.cost.currency);
	return {
		lotCode: test.lotCode,
		lotName: test.lotName,
		number: test.number,
		day: test.lateFrom ?? test.day,
		month: monthOf(test.day),
		late: lateWords(test),
		lotKind: test.lotKind,
		country: test.country,
		supplier: test.supplier,
		reason: test.purpose,
		roasterName: test.roasterName,
		verdict: test.verdict,
		greenG: batch.greenG,
		roastedG: test.roastedG,
		machineS: batch.machineS,
		...{ byItem, byRecovery, unaccountedG, displaced },
		cost: test.cost,
		recovered: test.recovered,
		net: test.net,
		abnormalG: loss.abnormalG,
		abnormal: loss.abnormal,
		howWorked: [lateWords(test) ?? [], lineWords(batch), netWords(test)].flat().join('; ')
	};
}

/** How each line was worked out; amounts alone where a closed month counts another than is known now. */
function lineWords(batch: ListedTest['batch']): string[] {
	const known = batchCost(batch.input).lines;
	const isAsKnown = batch.lines.every(({ money }, i) => money.minor === known[i]!.money.minor);
	return workedLines(batch).map(
		(line) => `${line.label} ${isAsKnown ? line.howWorked : formatMoney(line.money)}`
	);
}

function lateWords({ lateFrom, counted = 1, day }: ListedTest): string | null {
	if (lateFrom === undefined) return null;
	const what = counted > 0 ? 'recorded' : 'what changed';
	return `${what} after ${monthOf(lateFrom)} was closed: counts in ${monthOf(day)}`;
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

/** Lots on a page of landed costs. */
const LANDED_ON_A_PAGE = 200;

export interface LandedPage extends LandedView {
	readonly page: number;
	readonly pageSize: number;
	readonly found: number;
}

/** A page of the landed costs of lots, by code. */
export async function loadLandedPage(db: Reader, asked: number): Promise<LandedPage> {
	const { currency, lots } = await loadLanded(db);
	const pages = Math.max(1, Math.ceil(lots.length / LANDED_ON_A_PAGE));
	const page = Math.min(Math.max(1, asked), pages);
	const shown = lots.slice((page - 1) * LANDED_ON_A_PAGE, page * LANDED_ON_A_PAGE);
	return { currency, lots: shown, page, pageSize: LANDED_ON_A_PAGE, found: lots.length };
}

/** The landed cost of every lot with its lines, by code. */
export async function loadLanded(db: Reader): Promise<LandedView> {
	const [site, records, costs] = await Promise.all([
		requireSite(db),
		loadLotRecords(db),
		loadLotCosts(db)
	]);
	return {
		currency: site.currency,
		lots: [...records.values()].map(({ lot: { id, code, name, kind } }) => {
			const landed = costs.get(id)?.landed ?? null;
			if (!landed) return { code, name, kind, cost: null };
			const { receivedG, perKgE4, total, lines } = landed;
			return { code, name, kind, cost: { receivedG, perKgE4, total, lines } };
		})
	};
}

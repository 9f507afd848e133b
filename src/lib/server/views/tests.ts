import type { ReadyState } from '#lib/domain/demand/ready.ts';
import { STAGES, type Stage, type Verdict } from '#lib/domain/lot/lot.ts';
import type { Day, InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import { dayOf, daysBetween, monthOf } from '#lib/domain/quantity/week.ts';
import { cuppingScore, type CuppingForm } from '#lib/domain/trial/cupping.ts';
import { formOf, panelResults, type PanelResult } from '#lib/domain/trial/panel.ts';
import type { Reader } from '../db/client.ts';
import { loadTestSlots, type Slot } from '../store/production.ts';
import { loadRoasters, type Roaster } from '../store/site.ts';
import { loadTests, type TestRecord } from '../store/tests.ts';
import { momentOf, type Moment } from './moment.ts';
import { isOpen, loadRoastery, type LotFacts, type Roastery } from './roastery.ts';

/** How far a test has come, derived from its records. */
export const TEST_STATES = ['waiting', 'roasted', 'cupped', 'judged'] as const;
export type TestState = (typeof TEST_STATES)[number];

/** The state of a test: its last record decides. */
export function testState(test: TestRecord): TestState {
	if (test.verdict) return 'judged';
	if (test.cuppings.length > 0) return 'cupped';
	return test.roast ? 'roasted' : 'waiting';
}

/** The page of a test. */
export function testHref(lotCode: string, number: number): string {
	return `/tests/${encodeURIComponent(lotCode)}/${number}`;
}

/** By when a lot must be released and whether that will do, or why no date is known. */
export interface Due {
	readonly day: Day | null;
	readonly daysLeft: number | null;
	readonly because: string;
	readonly state: ReadyState | null;
	/** 0 to 1. */
	readonly chanceInTime: number | null;
}

/** The release-by date of a lot with its outlook. */
export function dueOf({ standing, releaseBy, ready }: LotFacts, today: Day): Due {
	const by = releaseBy?.releaseBy ?? null;
	return {
		day: by?.day ?? null,
		daysLeft: by ? daysBetween(today, by.day) : null,
		because: by?.because ?? releaseBy?.reason ?? `The lot is ${standing.stage}.`,
		state: ready?.state ?? null,
		chanceInTime: ready?.chanceInTime ?? null
	};
}

export interface PlannedSlot extends Moment {
	readonly week: IsoWeek;
	/** Placed by hand; planning the week again leaves it. */
	readonly locked: boolean;
}

/** A slot as a page shows it. */
export function slotOf(slot: Slot | undefined, zone: string): PlannedSlot | null {
	return slot ? { ...momentOf(slot.startAt, zone), week: slot.week, locked: slot.locked } : null;
}

interface TestName {
	readonly key: number;
	readonly lotCode: string;
	readonly lotName: string;
	readonly number: number;
	readonly href: string;
	readonly purpose: string;
	readonly roasterName: string;
}

export interface QueueRow extends TestName {
	readonly change: string;
	readonly chargeG: number;
	readonly due: Due;
	readonly slot: PlannedSlot | null;
	/** `cupping of test 2`; null when nothing stands in its way. */
	readonly waitsFor: string | null;
}

export interface ReviewRow extends TestName {
	readonly roasted: Moment;
	readonly daysSinceRoast: number;
	readonly todo: 'cup' | 'give a verdict';
	readonly due: Due;
}

export interface UnplannedRow {
	readonly lotCode: string;
	readonly lotName: string;
	readonly stage: Stage;
	readonly because: string;
	readonly nextStep: string | null;
	readonly testsRoasted: number;
	readonly due: Due;
}

export interface Scored {
	readonly form: '2004' | '2024';
	readonly score: number;
	readonly by: string;
}

export interface ListRow extends TestName {
	readonly state: TestState;
	readonly chargeG: number;
	readonly plannedOn: Day;
	readonly roastedOn: Day | null;
	/** 0 to 1. */
	readonly weightLoss: number | null;
	/** What the cuppers found, form by form. */
	readonly results: readonly PanelResult[];
	readonly verdict: Verdict | null;
}

/** What the list of all tests is narrowed by; empty text narrows nothing. */
export interface TestFilter {
	readonly q: string;
	readonly state: string;
	readonly verdict: string;
	/** Code of a roaster. */
	readonly roaster: string;
	/** `2026-11`, of the roast, else of the planning. */
	readonly month: string;
	/** One of `TEST_SORTS`, `-` before it for falling. */
	readonly sort: string;
	/** From 1. */
	readonly page: number;
}

export const TEST_SORTS = ['lot', 'state', 'roaster', 'charge', 'roasted', 'loss'] as const;

export const TESTS_ON_A_PAGE = 40;

export interface TestsPage {
	readonly queue: readonly QueueRow[];
	readonly review: readonly ReviewRow[];
	readonly unplanned: readonly UnplannedRow[];
	readonly list: {
		readonly rows: readonly ListRow[];
		readonly page: number;
		readonly found: number;
		readonly all: number;
	};
	readonly months: readonly string[];
	readonly roasters: readonly { readonly code: string; readonly name: string }[];
}

/** The test queue, what waits for the table, lots without a planned test, and every test. */
export async function loadTestsPage(
	db: Reader,
	now: InstantMs,
	filter: TestFilter
): Promise<TestsPage> {
	const [roastery, tests, slots, roasters] = await Promise.all([
		loadRoastery(db, now),
		loadTests(db),
		loadTestSlots(db, now),
		loadRoasters(db)
	]);
	const zone = roastery.site.timeZone;
	const months = [...new Set(tests.map((test) => monthOfTest(test, zone)))].sort().reverse();
	return {
		queue: queueOf(roastery, tests, slots),
		review: reviewOf(roastery, tests),
		unplanned: unplannedOf(roastery),
		list: listOf(tests, roasters, filter, zone),
		months,
		roasters: roasters.map(({ code, name }) => ({ code, name }))
	};
}

function nameOf(test: TestRecord): TestName {
	return {
		key: test.batch.id,
		lotCode: test.lotCode,
		lotName: test.lotName,
		number: test.batch.number,
		href: testHref(test.lotCode, test.batch.number),
		purpose: test.batch.purpose,
		roasterName: test.roasterName
	};
}

/** Lots with a test that waits for its roast or its verdict, and all that are open. */
export function lotsInTest({ lots }: Roastery): number[] {
	return lots
		.filter(
			(facts) =>
				isOpen(facts) ||
				facts.events.tests.some(({ roastedAt, verdict }) => roastedAt === null || verdict === null)
		)
		.map(({ lot }) => lot.id);
}

/** Waiting tests in the order of their lots' release-by dates. */
export function queueOf(
	{ lots, site, today }: Roastery,
	tests: readonly TestRecord[],
	slots: ReadonlyMap<number, Slot>
): QueueRow[] {
	const factsById = new Map(lots.map((facts) => [facts.lot.id, facts]));
	const ofLot = Map.groupBy(tests, (test) => test.batch.lotId);
	return tests
		.filter((test) => !test.roast)
		.map((test) => ({ test, due: dueOf(factsById.get(test.batch.lotId)!, today) }))
		.sort((a, b) => byDue(a.due, b.due) || a.test.batch.plannedAt - b.test.batch.plannedAt)
		.map(({ test, due }) => ({
			...nameOf(test),
			change: test.batch.change,
			chargeG: test.batch.settings.chargeG,
			due,
			slot: slotOf(slots.get(test.batch.id), site.timeZone),
			waitsFor: waitsFor(test, ofLot.get(test.batch.lotId)!, factsById.get(test.batch.lotId)!)
		}));
}

/** The soonest date first, what has none last. */
function byDue(a: Due, b: Due): number {
	return (a.day ?? '9999').localeCompare(b.day ?? '9999');
}

/** What must be recorded before a test can be roasted; null when nothing. */
export function waitsFor(
	test: TestRecord,
	ofLot: readonly TestRecord[],
	facts: LotFacts
): string | null {
	if (!isOpen(facts)) return `nothing: the lot is ${facts.standing.stage}, so withdraw it`;
	const before = ofLot.filter((other) => other.batch.number < test.batch.number);
	const unjudged = before.find((other) => other.roast && !other.verdict);
	if (unjudged) {
		const what = unjudged.cuppings.length === 0 ? 'cupping of' : 'verdict on';
		return `${what} test ${unjudged.batch.number}`;
	}
	const unroasted = before.find((other) => !other.roast);
	return unroasted ? `test ${unroasted.batch.number}` : null;
}

/** Roasted tests without a verdict. */
export function reviewOf(
	{ lots, site, now, today }: Roastery,
	tests: readonly TestRecord[]
): ReviewRow[] {
	const factsById = new Map(lots.map((facts) => [facts.lot.id, facts]));
	return tests
		.flatMap((test): ReviewRow[] => {
			if (!test.roast || test.verdict) return [];
			const roasted = momentOf(test.roast.roastedAt, site.timeZone);
			return [
				{
					...nameOf(test),
					roasted,
					daysSinceRoast: daysBetween(roasted.day, dayOf(now, site.timeZone)),
					todo: test.cuppings.length === 0 ? 'cup' : 'give a verdict',
					due: dueOf(factsById.get(test.batch.lotId)!, today)
				}
			];
		})
		.sort((a, b) => byDue(a.due, b.due) || b.daysSinceRoast - a.daysSinceRoast);
}

/** Stages in which a lot's next step is a test to plan, or a sample that leads to one. */
const WANTS_TEST: ReadonlySet<Stage> = new Set(['arrived', 'sample roasted', 'in test']);

/** Lots that need a test, or first a sample, and have none waiting. */
export function unplannedOf({ lots, today }: Roastery): UnplannedRow[] {
	return lots
		.filter(({ standing, testsWaiting }) => WANTS_TEST.has(standing.stage) && testsWaiting === 0)
		.map((facts) => ({
			lotCode: facts.lot.code,
			lotName: facts.lot.name,
			stage: facts.standing.stage,
			because: facts.standing.because,
			nextStep: facts.standing.nextStep,
			testsRoasted: facts.testsRoasted,
			due: dueOf(facts, today)
		}))
		.sort((a, b) => byDue(a.due, b.due) || STAGES.indexOf(b.stage) - STAGES.indexOf(a.stage));
}

function monthOfTest({ roast, batch }: TestRecord, zone: string): string {
	return monthOf(dayOf(roast?.roastedAt ?? batch.plannedAt, zone));
}

function listOf(
	tests: readonly TestRecord[],
	roasters: readonly Roaster[],
	filter: TestFilter,
	zone: string
): TestsPage['list'] {
	const roasterId = roasters.find(({ code }) => code === filter.roaster)?.id;
	const words = filter.q.toLowerCase().split(/\s+/).filter(Boolean);
	const found = tests.filter((test) => {
		const { purpose, change, number } = test.batch;
		const text =
			`${test.lotCode} ${test.lotName} test ${number} ${purpose} ${change}`.toLowerCase();
		return (
			words.every((word) => text.includes(word)) &&
			(filter.state === '' || filter.state === testState(test)) &&
			(filter.verdict === '' || filter.verdict === test.verdict?.verdict) &&
			(filter.roaster === '' || test.batch.roasterId === roasterId) &&
			(filter.month === '' || monthOfTest(test, zone) === filter.month)
		);
	});
	const pages = Math.max(1, Math.ceil(found.length / TESTS_ON_A_PAGE));
	const page = Math.min(Math.max(1, Math.trunc(filter.page) || 1), pages);
	const from = (page - 1) * TESTS_ON_A_PAGE;
	return {
		rows: sorted(
			found.map((test) => rowOf(test, zone)),
			filter.sort
		).slice(from, from + TESTS_ON_A_PAGE),
		page,
		found: found.length,
		all: tests.length
	};
}

function rowOf(test: TestRecord, zone: string): ListRow {
	const { roast, batch } = test;
	return {
		...nameOf(test),
		state: testState(test),
		chargeG: roast?.chargeG ?? batch.settings.chargeG,
		plannedOn: dayOf(batch.plannedAt, zone),
		roastedOn: roast ? dayOf(roast.roastedAt, zone) : null,
		weightLoss: roast ? (roast.chargeG - roast.outG) / roast.chargeG : null,
		results: panelResults(test.cuppings),
		verdict: (test.verdict?.verdict ?? null) as Verdict | null
	};
}

/** A cupping's score with the form it is on: the two scales can't be compared. */
export function scoredOf(sheet: CuppingForm, by: string): Scored {
	return { form: formOf(sheet), score: cuppingScore(sheet), by };
}

/** `83.25 on the form of 2004 from 4 cuppers`. */
export function resultText({ form, mean, cuppers }: PanelResult): string {
	const from = cuppers === 1 ? '1 cupper' : `${cuppers} cuppers`;
	return `${mean.toFixed(2)} on the form of ${form} from ${from}`;
}

type SortKey = (typeof TEST_SORTS)[number];

const SORT_VALUE: Readonly<Record<SortKey, (row: ListRow) => string | number | null>> = {
	lot: (row) => `${row.lotCode} ${String(row.number).padStart(3, '0')}`,
	state: (row) => TEST_STATES.indexOf(row.state),
	roaster: (row) => row.roasterName,
	charge: (row) => row.chargeG,
	roasted: (row) => row.roastedOn,
	loss: (row) => row.weightLoss
};

/** By the column asked for; by default the latest first. What is missing comes last. */
function sorted(rows: readonly ListRow[], sort: string): ListRow[] {
	const key = TEST_SORTS.find((each) => each === sort.replace(/^-/, ''));
	if (!key) return rows.toSorted((a, b) => latest(b).localeCompare(latest(a)) || b.key - a.key);
	const sign = sort.startsWith('-') ? -1 : 1;
	const value = SORT_VALUE[key];
	return rows.toSorted((a, b) => {
		const [x, y] = [value(a), value(b)];
		if (x === null || y === null) return Number(x === null) - Number(y === null);
		return sign * (x < y ? -1 : x > y ? 1 : 0) || a.key - b.key;
	});
}

const latest = (row: ListRow) => row.roastedOn ?? row.plannedOn;

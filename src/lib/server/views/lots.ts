import { STAGES, LOT_KINDS, type Stage } from '#lib/domain/lot/lot.ts';
import type { Day, InstantMs } from '#lib/domain/quantity/time.ts';
import { dayOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadLots } from '../store/lots.ts';
import { loadProducts } from '../store/production.ts';
import { countryName, lotHref, nextHref } from './places.ts';
import { isOpen, loadRoastery, type LotFacts, type Roastery } from './roastery.ts';
import { dueOf, type Due } from './tests.ts';

/** A lot as lists show it. */
export interface LotRow {
	readonly code: string;
	readonly name: string;
	readonly href: string;
	readonly kind: string;
	/** Country. */
	readonly origin: string;
	readonly producer: string;
	readonly stage: Stage;
	readonly because: string;
	readonly daysInStage: number;
	readonly testsRoasted: number;
	readonly testsWaiting: number;
	readonly leftG: number;
	/** Null once it is released, used up or rejected. */
	readonly due: Due | null;
	readonly next: { readonly words: string; readonly href: string } | null;
}

/** One lot as a row of a list. */
export function lotRow(facts: LotFacts, today: Day): LotRow {
	const { lot, standing, events } = facts;
	const { nextAct, nextStep } = standing;
	return {
		code: lot.code,
		name: lot.name,
		href: lotHref(lot.code),
		kind: lot.kind,
		origin: countryName(lot.country),
		producer: lot.producer,
		stage: standing.stage,
		because: standing.because,
		daysInStage: facts.daysInStage,
		testsRoasted: facts.testsRoasted,
		testsWaiting: facts.testsWaiting,
		leftG: events.onHandG,
		due: isOpen(facts) ? dueOf(facts, today) : null,
		next: nextAct && nextStep ? { words: nextStep, href: nextHref(lot.code, nextAct) } : null
	};
}

/** The value of the stage filter for lots that are not released yet. */
export const OPEN_FILTER = 'open';

export const LOT_SORTS = [
	'code',
	'name',
	'kind',
	'origin',
	'stage',
	'days',
	'tests',
	'left',
	'release_by',
	'ready'
] as const;
type LotSort = (typeof LOT_SORTS)[number];

/** What the list is narrowed and ordered by; empty text narrows nothing. */
export interface LotsFilter {
	readonly q: string;
	/** A stage, or 'open'. */
	readonly stage: string;
	readonly kind: string;
	/** First released on this day or later. */
	readonly releasedFrom: string;
	readonly sort: { readonly key: string; readonly descending: boolean } | null;
	/** From 1. */
	readonly page: number;
}

export const LOTS_ON_A_PAGE = 200;

export interface LotsPage {
	readonly rows: readonly LotRow[];
	readonly page: number;
	readonly found: number;
	readonly all: number;
	/** Lots in each stage, and those that are open, for the choices of the filter. */
	readonly stages: readonly { readonly stage: string; readonly count: number }[];
	readonly kinds: readonly string[];
}

/** Every lot that the filter leaves, a page of it. */
export async function loadLotsPage(
	db: Reader,
	now: InstantMs,
	filter: LotsFilter
): Promise<LotsPage> {
	const roastery = await loadRoastery(db, now);
	const { lots } = roastery;
	const found = sortLots(
		lots.filter((facts) => matches(facts, filter, roastery)).map((f) => lotRow(f, roastery.today)),
		filter.sort
	);
	const pages = Math.max(1, Math.ceil(found.length / LOTS_ON_A_PAGE));
	const page = Math.min(Math.max(1, filter.page), pages);
	const from = (page - 1) * LOTS_ON_A_PAGE;
	return {
		rows: found.slice(from, from + LOTS_ON_A_PAGE),
		page,
		found: found.length,
		all: lots.length,
		stages: [
			{ stage: OPEN_FILTER, count: lots.filter(isOpen).length },
			...STAGES.map((stage) => ({
				stage,
				count: lots.filter(({ standing }) => standing.stage === stage).length
			}))
		],
		kinds: LOT_KINDS
	};
}

function matches(facts: LotFacts, filter: LotsFilter, { site }: Roastery): boolean {
	const { lot, standing, events } = facts;
	const text = plainText(
		[lot.code, lot.name, lot.kind, countryName(lot.country), lot.producer, lot.variety].join(' ')
	);
	const words = plainText(filter.q).split(/\s+/).filter(Boolean);
	const first = events.releasedAt[0];
	return (
		words.every((word) => text.includes(word)) &&
		(filter.stage === '' ||
			(filter.stage === OPEN_FILTER ? isOpen(facts) : standing.stage === filter.stage)) &&
		(filter.kind === '' || lot.kind === filter.kind) &&
		(filter.releasedFrom === '' ||
			(first !== undefined && dayOf(first, site.timeZone) >= filter.releasedFrom))
	);
}

/** Lower case without accents, so that a keyboard without them finds every name. */
function plainText(text: string): string {
	return text.normalize('NFD').replace(/\p{M}/gu, '').toLowerCase();
}

const SORT_VALUE: Readonly<Record<LotSort, (row: LotRow) => string | number | null>> = {
	code: (row) => row.code,
	name: (row) => row.name,
	kind: (row) => row.kind,
	origin: (row) => row.origin,
	stage: (row) => STAGES.indexOf(row.stage),
	days: (row) => row.daysInStage,
	tests: (row) => row.testsRoasted,
	left: (row) => row.leftG,
	release_by: (row) => row.due?.day ?? null,
	ready: (row) => row.due?.chanceInTime ?? null
};

/** By the column asked for; else what must be released first. What is missing comes last either way. */
export function sortLots(rows: readonly LotRow[], sort: LotsFilter['sort']): LotRow[] {
	const key = LOT_SORTS.find((each) => each === sort?.key);
	if (!key) return rows.toSorted(byUrgency);
	const value = SORT_VALUE[key];
	const sign = sort?.descending ? -1 : 1;
	return rows.toSorted((a, b) => {
		const [x, y] = [value(a), value(b)];
		if (x === null || y === null) return Number(x === null) - Number(y === null);
		return sign * (x < y ? -1 : x > y ? 1 : 0) || compareText(a.code, b.code);
	});
}

/** Too late first, then by release-by date, then by stage; codes break ties. */
function byUrgency(a: LotRow, b: LotRow): number {
	const late = (row: LotRow) => Number(row.due?.state !== 'too late');
	const rank = (row: LotRow) => Number(row.due === null);
	return (
		rank(a) - rank(b) ||
		late(a) - late(b) ||
		compareText(a.due?.day ?? '9999', b.due?.day ?? '9999') ||
		STAGES.indexOf(a.stage) - STAGES.indexOf(b.stage) ||
		compareText(b.code, a.code)
	);
}

function compareText(a: string, b: string): number {
	return a < b ? -1 : a > b ? 1 : 0;
}

/** What the form of a new lot offers and starts from, by field name. */
export interface NewLotPage {
	readonly kinds: readonly string[];
	readonly lots: readonly { readonly code: string; readonly name: string }[];
	readonly products: readonly { readonly code: string; readonly name: string }[];
	readonly defaults: Readonly<Record<string, string>>;
}

export async function loadNewLotPage(db: Reader): Promise<NewLotPage> {
	const [lots, products] = await Promise.all([loadLots(db), loadProducts(db)]);
	const names = ({ code, name }: { code: string; name: string }) => ({ code, name });
	const newest = lots.toSorted((a, b) => b.createdAt - a.createdAt || b.id - a.id);
	return {
		kinds: LOT_KINDS,
		lots: newest.map(names),
		products: products.map(names),
		defaults: {
			code: codeAfter(lots.map(({ code }) => code)),
			kind: LOT_KINDS[0],
			bag_kg: String((newest[0]?.bagG ?? 60_000) / 1000),
			organic: 'no',
			decaf: 'no'
		}
	};
}

/** The next code of the series that most codes follow: HR-163 after HR-162; nothing without one. */
export function codeAfter(codes: readonly string[]): string {
	const series = Map.groupBy(
		codes.flatMap((code) => {
			const parts = /^(.*?)(\d+)$/.exec(code);
			return parts ? [{ stem: parts[1]!, digits: parts[2]! }] : [];
		}),
		({ stem }) => stem
	);
	const [largest] = [...series].sort(([, a], [, b]) => b.length - a.length);
	if (!largest) return '';
	const [stem, members] = largest;
	const last = members.reduce((a, b) => (Number(b.digits) > Number(a.digits) ? b : a)).digits;
	return stem + String(Number(last) + 1).padStart(last.length, '0');
}

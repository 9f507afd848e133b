import {
	testTrend,
	type LotGroup,
	type TestedLot,
	type TestTrend
} from '#lib/domain/cost/trend.ts';
import { sum, type Money } from '#lib/domain/quantity/money.ts';
import type { Day, InstantMs } from '#lib/domain/quantity/time.ts';
import { addDays, dayOf, monthOf, parseDay } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadRoastedTests, type RoastedTest } from '../store/costs.ts';
import { loadLotRecords } from '../store/lotRecords.ts';
import type { Lot } from '../store/lots.ts';
import { loadFirstReadings } from '../store/readings.ts';
import { requireSite, type Site } from '../store/site.ts';
import { loadLotCosts, type LotCosts } from './costing.ts';

/** What released lots can be parted by. */
export const TREND_CUTS = ['date', 'humidity', 'kind', 'roaster'] as const;
export type TrendCut = (typeof TREND_CUTS)[number];

export interface TrendQuestion {
	readonly cut: TrendCut;
	/** The day as it stands in the address; empty for the first of the month half a year ago. */
	readonly on: string;
}

export interface Comparison extends TestTrend {
	/** `washed`, a roaster's name, `since`, `with humidity`. */
	readonly key: string;
}

export interface TrendView {
	readonly currency: string;
	readonly cut: TrendCut;
	readonly on: Day;
	/** What is wrong with the day asked for; `on` is then the usual one. */
	readonly problem: string | null;
	readonly comparisons: readonly Comparison[];
	/** Every lot counted, oldest release first, with the group it belongs to. */
	readonly lots: readonly (TestedLot & {
		readonly name: string;
		readonly group: string;
		/** Tests after a re-opening, not counted. */
		readonly later: number;
	})[];
	/** Lots not counted: neither released nor rejected, and rejected ones. */
	readonly open: number;
	readonly rejected: number;
}

/** A released lot with what it can be grouped by. */
interface ReleasedLot extends TestedLot {
	readonly name: string;
	readonly later: number;
	readonly kind: string;
	readonly roaster: string;
	readonly humidity: string;
}

const WITH = 'with humidity';
const WITHOUT = 'without';

/** Tests of released lots compared, before and after a day or between groups. */
export async function loadTrend(
	db: Reader,
	now: InstantMs,
	question: TrendQuestion
): Promise<TrendView> {
	const site = await requireSite(db);
	const usual = usualDay(dayOf(now, site.timeZone));
	const asked = question.on === '' ? null : parseDay(question.on, 'on');
	const on = asked?.ok ? asked.value : usual;
	const { released, open, rejected } = await loadReleased(db, site);
	const { cut } = question;
	const { currency } = site;
	const groupOf = (lot: ReleasedLot) =>
		cut === 'date' ? (lot.releasedOn >= on ? 'since' : 'before') : lot[cut];
	const keys = keysOf(cut, released.map(groupOf));
	const comparisons = keys.map((key) => {
		const inside = released.filter((lot) => groupOf(lot) === key);
		const outside = released.filter((lot) => groupOf(lot) !== key);
		return { key, ...testTrend(outside, inside, currency, keys.length) };
	});
	return {
		...{ currency, cut, on, open, rejected, comparisons },
		problem: asked && !asked.ok ? asked.problems.map(({ message }) => message).join(' ') : null,
		lots: released.map((lot) => ({ ...lot, group: groupOf(lot) }))
	};
}

/** The groups set against all other lots; of two groups the first, since the second says the same. */
function keysOf(cut: TrendCut, groups: readonly string[]): string[] {
	if (cut === 'date') return ['since'];
	if (cut === 'humidity') return [WITH];
	const keys = [...new Set(groups)].sort();
	return keys.length === 2 ? keys.slice(0, 1) : keys;
}

/** The first of the month half a year before. */
function usualDay(today: Day): Day {
	return `${monthOf(addDays(today, -182))}-01`;
}

/** Lots listed of a group; the sums below them are of all. */
const LISTED = 200;

/** Lots of a group as the page lists them: the newest, and the sums of all. */
export interface ListedGroup {
	readonly key: string;
	/** Oldest release first. */
	readonly lots: TrendView['lots'];
	readonly count: number;
	readonly tests: number;
	readonly greenG: number;
	readonly net: Money;
	/** Lots of which not every test can be costed. */
	readonly uncosted: number;
}

/** A comparison as the page shows it: its groups by their figures alone. */
export type ShownComparison = Omit<Comparison, 'reference' | 'asked'> &
	Readonly<Record<'reference' | 'asked', Omit<LotGroup, 'lots'> & { readonly count: number }>>;

/** What the page of a comparison shows. */
export function trendPage({ lots, comparisons, ...rest }: TrendView) {
	const figures = ({ lots, ...group }: LotGroup) => ({ ...group, count: lots.length });
	const groups = [...Map.groupBy(lots, ({ group }) => group)]
		.sort(([a], [b]) => (a < b ? -1 : 1))
		.map(([key, own]): ListedGroup => ({
			...{ key, lots: own.slice(-LISTED), count: own.length },
			tests: own.reduce((all, { tests }) => all + tests, 0),
			greenG: own.reduce((all, { greenG }) => all + greenG, 0),
			net: sum(
				own.flatMap(({ net }) => net ?? []),
				rest.currency
			),
			uncosted: own.filter(({ net }) => net === null).length
		}));
	return {
		...rest,
		...{ groups, released: lots.length },
		comparisons: comparisons.map((each): ShownComparison => ({
			...each,
			reference: figures(each.reference),
			asked: figures(each.asked)
		}))
	};
}

async function loadReleased(db: Reader, site: Site) {
	const [records, costs, firstReadings, testsOf] = await Promise.all([
		loadLotRecords(db),
		loadLotCosts(db),
		loadFirstReadings(db),
		loadRoastedTests(db)
	]);
	const all = [...records.values()];
	const released = all.flatMap(({ lot, events }): ReleasedLot[] => {
		const at = events.releasedAt[0];
		if (at === undefined) return [];
		const isRead = (firstReadings.get(lot.id) ?? Infinity) <= at;
		const own = releasedLot(lot, at, testsOf.get(lot.id) ?? [], costs.get(lot.id)!, site);
		return [{ ...own, humidity: isRead ? WITH : WITHOUT }];
	});
	const rest = all.filter(({ events }) => events.releasedAt.length === 0);
	const rejected = rest.filter(({ events }) => events.rejectedAt !== null).length;
	return {
		released: released.sort((a, b) => (a.releasedOn < b.releasedOn ? -1 : 1)),
		open: rest.length - rejected,
		rejected
	};
}

function releasedLot(
	lot: Lot,
	at: InstantMs,
	roasted: readonly RoastedTest[],
	costs: LotCosts,
	site: Site
): Omit<ReleasedLot, 'humidity'> {
	const counted = roasted.filter(({ roastedAt }) => roastedAt <= at);
	const netOf = new Map(costs.tests.map(({ testId, net }) => [testId, net]));
	const nets = counted.flatMap(({ id }) => netOf.get(id) ?? []);
	const roasters = new Set(counted.map(({ roasterName }) => roasterName));
	return {
		code: lot.code,
		name: lot.name,
		kind: lot.kind,
		releasedOn: dayOf(at, site.timeZone),
		tests: counted.length,
		later: roasted.length - counted.length,
		greenG: counted.reduce((all, { chargeG }) => all + chargeG, 0),
		net: nets.length === counted.length ? sum(nets, site.currency) : null,
		roaster: roasters.size === 1 ? [...roasters][0]! : 'several roasters'
	};
}

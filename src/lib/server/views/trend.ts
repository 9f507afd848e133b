import { testTrend, type TestedLot, type TestTrend } from '#lib/domain/cost/trend.ts';
import { sum } from '#lib/domain/quantity/money.ts';
import type { Day, InstantMs } from '#lib/domain/quantity/time.ts';
import { addDays, dayOf, monthOf, parseDay } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadLotEvents, loadLots, type Lot } from '../store/lots.ts';
import { loadSampleSummaries } from '../store/samples.ts';
import { requireSite, type Site } from '../store/site.ts';
import { loadTests, type TestRecord } from '../store/tests.ts';
import { loadCosting, type ListedTest } from './costing.ts';

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

async function loadReleased(db: Reader, site: Site) {
	const [lots, events, tests, costing, samples] = await Promise.all([
		loadLots(db),
		loadLotEvents(db),
		loadTests(db),
		loadCosting(db, site),
		loadSampleSummaries(db)
	]);
	const testsOf = Map.groupBy(tests, (test) => test.batch.lotId);
	const costOf = new Map(costing.tests.map((test) => [test.testId, test]));
	const readFrom = new Map<string, InstantMs>();
	for (const { lotCode, stage, reading, roastedAt } of samples)
		if (stage === 'arrival' && reading && !readFrom.has(lotCode)) readFrom.set(lotCode, roastedAt);
	const released = lots.flatMap((lot): ReleasedLot[] => {
		const at = events.get(lot.id)!.releasedAt[0];
		if (at === undefined) return [];
		const isRead = (readFrom.get(lot.code) ?? Infinity) <= at;
		const own = testsOf.get(lot.id) ?? [];
		return [{ ...releasedLot(lot, at, own, costOf, site), humidity: isRead ? WITH : WITHOUT }];
	});
	const rest = lots.map((lot) => events.get(lot.id)!).filter((e) => e.releasedAt.length === 0);
	const rejected = rest.filter((e) => e.rejectedAt !== null).length;
	return {
		released: released.sort((a, b) => (a.releasedOn < b.releasedOn ? -1 : 1)),
		open: rest.length - rejected,
		rejected
	};
}

function releasedLot(
	lot: Lot,
	at: InstantMs,
	tests: readonly TestRecord[],
	costOf: ReadonlyMap<number, ListedTest>,
	site: Site
): Omit<ReleasedLot, 'humidity'> {
	const roasted = tests.filter(({ roast }) => roast !== null);
	const counted = roasted.filter(({ roast }) => roast!.roastedAt <= at);
	const nets = counted.flatMap(({ batch }) => costOf.get(batch.id)?.net ?? []);
	const roasters = new Set(counted.map(({ roasterName }) => roasterName));
	return {
		code: lot.code,
		name: lot.name,
		kind: lot.kind,
		releasedOn: dayOf(at, site.timeZone),
		tests: counted.length,
		later: roasted.length - counted.length,
		greenG: counted.reduce((all, { roast }) => all + roast!.chargeG, 0),
		net: nets.length === counted.length ? sum(nets, site.currency) : null,
		roaster: roasters.size === 1 ? [...roasters][0]! : 'several roasters'
	};
}

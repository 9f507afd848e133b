import { stockCover, type StockCover, type StockFacts } from '#lib/domain/demand/cover.ts';
import type { LotNeed } from '#lib/domain/demand/explosion.ts';
import { orderByOf, type OrderBy } from '#lib/domain/demand/orderBy.ts';
import type { ProductBlend } from '#lib/domain/demand/products.ts';
import {
	MONDAY_TO_FRIDAY,
	readyOutlook,
	type ReadyFacts,
	type ReadyOutlook
} from '#lib/domain/demand/ready.ts';
import { releaseByOf, type ReleaseByAnswer } from '#lib/domain/demand/releaseBy.ts';
import { slotDaysByLot, type DaySlots, type LotInLine } from '#lib/domain/demand/slotDays.ts';
import {
	needsOf,
	planSuccession,
	type LotSupply,
	type Succession
} from '#lib/domain/demand/succession.ts';
import { releaseByMayFall, useSpread, type UseSpread } from '#lib/domain/demand/use.ts';
import { weightLosses, type WeightLoss } from '#lib/domain/demand/weightLoss.ts';
import type { LotEvents, LotKind, Standing } from '#lib/domain/lot/lot.ts';
import { daysInStage, standing } from '#lib/domain/lot/standing.ts';
import type { UsualWeek } from '#lib/domain/plan/hours.ts';
import { hoursWith, lotsWith, ordersWith, type Supposed } from '#lib/domain/plan/whatIf.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { Day, InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import { addWeeks, dayOf, daysOfWeek, startOfWeek, weekOf } from '#lib/domain/quantity/week.ts';
import { testsForecaster, type TestsForecaster } from '#lib/domain/trial/forecast.ts';
import type { TestedLot } from '#lib/domain/trial/hazard.ts';
import {
	testsAhead,
	type LotPast,
	type ReadingTraits,
	type RemainingTests
} from '#lib/domain/trial/remaining.ts';
import type { Reader } from '../db/client.ts';
import { loadLotRecords, type LotRecord } from '../store/lotRecords.ts';
import type { Lot } from '../store/lots.ts';
import {
	loadBlendParts,
	loadDemand,
	loadProduction,
	loadProducts,
	loadSlotsAhead,
	type BlendPart,
	type DemandRow,
	type Product,
	type Slot
} from '../store/production.ts';
import { loadUsualWeek } from '../store/planning.ts';
import { loadReadingTraits } from '../store/readings.ts';
import {
	loadRoasters,
	loadSupplierLeads,
	requireSite,
	type Roaster,
	type Site
} from '../store/site.ts';
import { blendOn, isSameSupply, successors, weeksAsked, type Asked } from './succession.ts';
import { testSlots } from './testSlots.ts';

/** A lot with everything that is derived about it. */
export interface LotFacts {
	readonly lot: Lot;
	readonly events: LotEvents;
	readonly standing: Standing;
	readonly daysInStage: number;
	readonly testsRoasted: number;
	readonly testsWaiting: number;
	/** Null once it is released, used up or rejected. */
	readonly remaining: RemainingTests | null;
	readonly cover: StockCover;
	/** What `cover` was worked out from. */
	readonly stock: StockFacts;
	/** Lots that replace it and are not rejected, in the order in which they are used. */
	readonly successorIds: readonly number[];
	/** By when the lot that follows must be ordered; null where one is named or nothing runs out. */
	readonly orderBy: OrderBy | null;
	/** Null once it is released, used up or rejected. */
	readonly releaseBy: ReleaseByAnswer | null;
	readonly ready: ReadyOutlook | null;
	/** What `ready` was worked out from; null when it is. */
	readonly readyFacts: ReadyFacts | null;
	/** Roasters on which its tests are expected to run. */
	readonly testRoasterIds: readonly number[];
	readonly loss: WeightLoss;
}

/** The whole roastery at one moment: what every page draws on. */
export interface Roastery {
	readonly site: Site;
	readonly now: InstantMs;
	readonly today: Day;
	readonly week: IsoWeek;
	readonly lots: readonly LotFacts[];
	readonly products: readonly Product[];
	readonly blends: readonly BlendPart[];
	readonly demand: readonly DemandRow[];
	readonly needs: readonly LotNeed[];
	/** Which lots the weeks ahead are made of, beyond the recorded orders too. */
	readonly succession: Succession;
	/** How the use of a lot goes up and down; worked out when asked for. */
	readonly useOf: (lotId: number) => UseSpread;
	/** Free test slots of the weeks ahead, before any lot has one. */
	readonly testSlots: readonly DaySlots[];
	/** Demand that can't be turned into lots, and why. */
	readonly problems: readonly Problem[];
}

const OPEN: ReadonlySet<string> = new Set([
	'expected',
	'arrived',
	'sample roasted',
	'queued for test',
	'in test',
	'in review'
]);

/** Whether a lot still has to be released. */
export function isOpen({ standing: { stage } }: Pick<LotFacts, 'standing'>): boolean {
	return OPEN.has(stage);
}

/** Weeks over which use is looked at. */
const WEEKS_OF_USE = 26;

/** Records as they would be, in place of those that are recorded. */
export interface SupposedRecords extends Supposed {
	/** The slots of the week in place of those that are kept; null for those. */
	readonly slots: readonly Slot[] | null;
}

/**
 * Loads and derives the roastery as it stands at `now`, or would stand with something supposed. Throws
 * before the site is set up.
 */
export async function loadRoastery(
	db: Reader,
	now: InstantMs,
	supposed: SupposedRecords | null = null
): Promise<Roastery> {
	const site = await requireSite(db);
	const today = dayOf(now, site.timeZone);
	const week = weekOf(today);
	const [records, traits, products, blends, recordedOrders] = await Promise.all([
		loadLotRecords(db),
		loadReadingTraits(db),
		loadProducts(db),
		loadBlendParts(db),
		loadDemand(db, addWeeks(week, -WEEKS_OF_USE))
	]);
	const [roasters, recordedHours, recordedSlots, made, leads] = await Promise.all([
		loadRoasters(db),
		loadUsualWeek(db),
		loadSlotsAhead(db, now),
		loadProduction(db, startOfWeek(week, site.timeZone), now),
		loadSupplierLeads(db)
	]);
	const past = pastOf(records, traits);
	const { lots, orders, usual, slots } = asSupposed(supposed, now, {
		...{ lots: past.lots, orders: recordedOrders, usual: recordedHours, slots: recordedSlots }
	});
	const demand = orders.filter((row) => row.week >= week);
	const { losses } = past;
	const asked = weeksAsked({ today, week, products, blends, demand, losses, made });
	const weekdays = [...new Set(usual.shifts.map((s) => s.weekday))];
	const from: Derivation = {
		...past,
		...{ site, now, today, week, lots, asked, blends, orders, roasters },
		supplierLeads: new Map(leads.map(({ supplier, leadDays }) => [supplier, leadDays])),
		slotsBeside: (needs) => testSlots({ now, zone: site.timeZone, roasters, usual, slots, needs }),
		workingWeekdays: weekdays.length > 0 ? weekdays : MONDAY_TO_FRIDAY
	};
	return {
		...{ site, now, today, week, products, blends, demand, problems: asked.problems },
		useOf: (lotId) => useOf(from, lotId),
		...deriveLots(from)
	};
}

/** What something supposed changes of what is recorded. */
interface Changeable {
	readonly lots: readonly Lot[];
	readonly orders: readonly DemandRow[];
	readonly usual: UsualWeek;
	/** Those that have not ended. */
	readonly slots: readonly Slot[];
}

function asSupposed(
	supposed: SupposedRecords | null,
	now: InstantMs,
	recorded: Changeable
): Changeable {
	if (supposed === null) return recorded;
	const { lots, orders, usual, slots } = recorded;
	const own = supposed.slots?.filter(({ endAt }) => endAt > now) ?? null;
	return {
		lots: lotsWith(lots, supposed.changes),
		orders: ordersWith(orders, supposed, (productId, week) => ({
			...{ productId, week, roastedG: 0, recordedAt: now, by: '' }
		})),
		usual: hoursWith(usual, supposed.changes),
		slots:
			own === null
				? slots
				: [...slots.filter(({ week }) => week !== supposed.week), ...own].sort(
						(a, b) => a.startAt - b.startAt
					)
	};
}

/** What a product is made of in a week: the newest block of parts not after its Monday. */
export function blendIn(
	product: Product,
	parts: readonly BlendPart[],
	week: IsoWeek
): ProductBlend | null {
	const own = parts.filter((part) => part.productId === product.id);
	return blendOn(product, own, daysOfWeek(week)[0]!);
}

/** What the records of lots come to, whatever the day is. */
interface Past {
	/** In the order of codes. */
	readonly lots: readonly Lot[];
	readonly records: ReadonlyMap<number, LotRecord>;
	readonly losses: ReadonlyMap<number, WeightLoss>;
	readonly standings: ReadonlyMap<number, Standing>;
	readonly ahead: (lot: LotPast) => RemainingTests;
	readonly traits: ReadonlyMap<number, ReadingTraits>;
}

const pasts = new WeakMap<ReadonlyMap<number, LotRecord>, Past>();

/** Worked out once for records and readings that stay the same. */
function pastOf(
	records: ReadonlyMap<number, LotRecord>,
	traits: ReadonlyMap<number, ReadingTraits>
): Past {
	const had = pasts.get(records);
	if (had?.traits === traits) return had;
	const all = [...records.values()];
	const kinds = all.map(({ lot }) => ({ lotId: lot.id, kind: lot.kind as LotKind }));
	const yields = all.flatMap(({ lot, yields }) =>
		yields ? [{ lotId: lot.id, kind: lot.kind as LotKind, ...yields }] : []
	);
	const past: Past = {
		...{ records, traits },
		lots: all.map(({ lot }) => lot),
		losses: weightLosses(kinds, yields),
		standings: new Map(all.map(({ lot, events }) => [lot.id, standingOf(events)])),
		ahead: testsAhead(
			all.map((record) => pastLot(record, traits)),
			forecasterOf
		)
	};
	pasts.set(records, past);
	return past;
}

function pastLot({ lot, events }: LotRecord, traits: Past['traits']): LotPast {
	const reading = traits.get(lot.id) ?? null;
	return { lotId: lot.id, kind: lot.kind as LotKind, events, reading };
}

const standingsKept = new WeakMap<LotEvents, Standing>();

/** Events that stay as they are stay the same object (store/kept.ts). */
function standingOf(events: LotEvents): Standing {
	const found = standingsKept.get(events) ?? standing(events);
	standingsKept.set(events, found);
	return found;
}

let lastForecaster: { readonly of: string; readonly forecaster: TestsForecaster } | null = null;

/** Fitted anew when a lot was released or a test judged, not for every act. */
function forecasterOf(tested: readonly TestedLot[]): TestsForecaster {
	const of = JSON.stringify(tested);
	if (lastForecaster?.of !== of) lastForecaster = { of, forecaster: testsForecaster(tested) };
	return lastForecaster.forecaster;
}

interface Derivation extends Past {
	readonly site: Site;
	readonly now: InstantMs;
	readonly today: Day;
	readonly week: IsoWeek;
	readonly asked: Asked;
	/** Demand with that of the weeks before this one. */
	readonly orders: readonly DemandRow[];
	readonly blends: readonly BlendPart[];
	readonly roasters: readonly Roaster[];
	/** Days from order to arrival of suppliers with a time of their own. */
	readonly supplierLeads: ReadonlyMap<string, number>;
	/** Free test slots beside what production needs. */
	readonly slotsBeside: (needs: readonly LotNeed[]) => readonly DaySlots[];
	readonly workingWeekdays: readonly number[];
}

/** What is known of a lot before days are looked for on which it may be tested. */
type WaitingFacts = Omit<LotFacts, 'ready' | 'readyFacts'>;

/**
 * Every lot with what is derived about it. When a lot that is not released will be ready hangs on the
 * free slots, which hang on what production needs, which hangs on when lots are ready: the first look at
 * needs takes every working day for one with a slot, the second takes the days found from it.
 */
function deriveLots(
	whole: Derivation
): Pick<Roastery, 'lots' | 'needs' | 'succession' | 'testSlots'> {
	const { live, over } = parted(whole);
	const from: Derivation = { ...whole, lots: live };
	const remaining = new Map(
		live.map((lot) => [
			lot.id,
			OPEN.has(from.standings.get(lot.id)!.stage)
				? from.ahead(pastLot(from.records.get(lot.id)!, from.traits))
				: null
		])
	);
	const known: KnownLots = { remaining, newLotTests: testsOfNewLots(from.ahead) };
	const firstSupply = suppliesOf(from, known, new Map());
	const first = planSuccession(firstSupply, from.asked.weeks);
	const free = from.slotsBeside(needsOf(first));
	const inLine = waitingLots(from, known, firstSupply, first);
	const slotDays = slotDaysByLot(free, lotsInLine(from, inLine));
	const supply = suppliesOf(from, known, slotDays);
	const isSettled = isSameSupply(firstSupply, supply);
	const succession = isSettled ? first : planSuccession(supply, from.asked.weeks);
	const waiting = isSettled ? inLine : waitingLots(from, known, supply, succession);
	const stocks = new Map(waiting.map(({ lot, stock }) => [lot.id, stock]));
	const facts = new Map(
		waiting.map((each) => [each.lot.id, readyFacts(from, each, slotDays, stocks)])
	);
	const nextOf = successorsOfOver(whole, supply);
	for (const lot of over)
		facts.set(lot.id, new OverLot({ ...whole, lots: [lot] }, known, succession, nextOf));
	return {
		lots: whole.lots.map(({ id }) => facts.get(id)!),
		...{ needs: needsOf(succession), succession, testSlots: free }
	};
}

/**
 * Lots that days ahead may hang on, and those that are over: nothing is left of them or comes, and neither a
 * blend of the weeks ahead nor a lot that follows another asks for them.
 */
function parted({ lots, records, standings, asked }: Derivation): {
	live: readonly Lot[];
	over: readonly Lot[];
} {
	const named = new Set(
		asked.weeks.flatMap(({ blends, made }) => [
			...made.map(({ lotId }) => lotId),
			...blends.flatMap(({ components }) =>
				components.flatMap((part) => [part.lotId, ...(part.substituteLotIds ?? [])])
			)
		])
	);
	const isLive = (lot: Lot) => {
		const { events } = records.get(lot.id)!;
		if (named.has(lot.id) || events.onHandG !== 0) return true;
		return !OVER.has(standings.get(lot.id)!.stage) || arrivalsOf(lot, events).length > 0;
	};
	const first = lots.filter(isLive);
	const ids = new Set(first.flatMap(({ id, replacesLotId }) => [id, replacesLotId ?? id]));
	const next = Map.groupBy(lots, ({ replacesLotId }) => replacesLotId);
	for (const id of ids) for (const lot of next.get(id) ?? []) ids.add(lot.id);
	return {
		live: lots.filter(({ id }) => ids.has(id)),
		over: lots.filter(({ id }) => !ids.has(id))
	};
}

const OVER: ReadonlySet<string> = new Set(['used up', 'rejected']);

type NextOf = (lotId: number) => readonly number[];

/** What replaces a lot that is over: others that are over, or it would be live. */
function successorsOfOver(
	{ lots, standings, today }: Derivation,
	supply: readonly LotSupply[]
): NextOf {
	const ready = new Map(supply.map(({ lotId, readyDay }) => [lotId, readyDay]));
	const next = Map.groupBy(lots, ({ replacesLotId }) => replacesLotId);
	return (lotId) => {
		const own = next.get(lotId) ?? [];
		const days = own
			.filter(({ id }) => standings.get(id)!.stage !== 'rejected')
			.map(({ id }): [number, Day | null] => [id, ready.has(id) ? ready.get(id)! : today]);
		return successors(own, new Map(days)).get(lotId) ?? [];
	};
}

/** Facts of a lot that is over, worked out when asked for: a page asks for those of few. */
class OverLot implements LotFacts {
	readonly lot: Lot;
	readonly events: LotEvents;
	readonly standing: Standing;
	readonly remaining = null;
	readonly releaseBy = null;
	readonly ready = null;
	readonly readyFacts = null;
	readonly #from: Derivation;
	readonly #known: KnownLots;
	readonly #succession: Succession;
	readonly #nextOf: NextOf;
	#found: WaitingFacts | null = null;

	constructor(from: Derivation, known: KnownLots, succession: Succession, nextOf: NextOf) {
		this.lot = from.lots[0]!;
		this.events = from.records.get(this.lot.id)!.events;
		this.standing = from.standings.get(this.lot.id)!;
		this.#from = from;
		this.#known = known;
		this.#succession = succession;
		this.#nextOf = nextOf;
	}

	get #facts(): WaitingFacts {
		this.#found ??= waitingLots(
			this.#from,
			this.#known,
			[{ successorIds: this.#nextOf(this.lot.id) }],
			this.#succession
		)[0]!;
		return this.#found;
	}

	get daysInStage() {
		return daysInStage(this.standing, this.#from.now);
	}
	get testsRoasted() {
		return this.#facts.testsRoasted;
	}
	get testsWaiting() {
		return this.#facts.testsWaiting;
	}
	get cover() {
		return this.#facts.cover;
	}
	get stock() {
		return this.#facts.stock;
	}
	get successorIds() {
		return this.#facts.successorIds;
	}
	get orderBy() {
		return this.#facts.orderBy;
	}
	get testRoasterIds() {
		return this.#facts.testRoasterIds;
	}
	get loss() {
		return this.#facts.loss;
	}
}

/** What is known of lots before anything is planned. */
interface KnownLots {
	readonly remaining: ReadonlyMap<number, RemainingTests | null>;
	/** Tests that a lot of a kind that is still to be ordered is expected to need. */
	readonly newLotTests: (kind: LotKind) => number;
}

/** Worked out once for each kind that is asked for. */
function testsOfNewLots(ahead: (lot: LotPast) => RemainingTests): (kind: LotKind) => number {
	const found = new Map<LotKind, number>();
	return (kind) => {
		const mean =
			found.get(kind) ?? ahead({ lotId: 0, kind, events: NOTHING_YET, reading: null }).mean;
		found.set(kind, mean);
		return mean;
	};
}

const NOTHING_YET: LotEvents = {
	...{ createdAt: 0, receivedAt: null, arrivalSampleAt: null, tests: [] },
	...{ releasedAt: [], reopenedAt: [], rejectedAt: null, onHandG: 0, emptiedAt: null }
};

/** What each lot can give from when. */
function suppliesOf(
	from: Derivation,
	known: KnownLots,
	slotDays: ReadonlyMap<number, readonly Day[]>
): LotSupply[] {
	const readyDays = new Map<number, Day | null>();
	for (const lot of from.lots) {
		const { stage } = from.standings.get(lot.id)!;
		if (stage === 'rejected') continue;
		const left = known.remaining.get(lot.id) ?? null;
		const days = slotDays.get(lot.id) ?? [];
		readyDays.set(
			lot.id,
			left === null
				? from.today
				: readyOutlook({ ...testFacts(from, lot, left, days), releaseBy: null }).middleDay
		);
	}
	const next = successors(from.lots, readyDays);
	return from.lots.map((lot) => ({
		...{ lotId: lot.id, code: lot.code, readyDay: readyDays.get(lot.id) ?? null },
		stockG: arrivalsOf(lot, from.records.get(lot.id)!.events)
			.filter(({ day }) => day >= from.today)
			.reduce((sum, { greenG }) => sum + greenG, from.records.get(lot.id)!.events.onHandG),
		successorIds: next.get(lot.id) ?? [],
		loss: from.losses.get(lot.id)!
	}));
}

/** What a lot's cover rests on. */
function stockOf(from: Derivation, lot: Lot, { asked, tookOver }: Succession): StockFacts {
	const { known } = from.asked;
	const green = asked.get(lot.id) ?? [];
	const later = from.asked.weeks.filter(({ isKnown }) => !isKnown);
	const byWeek = new Map(green.map(({ week, greenG }) => [week, greenG]));
	return {
		today: from.today,
		onHandG: from.records.get(lot.id)!.events.onHandG,
		arrivals: arrivalsOf(lot, from.records.get(lot.id)!.events),
		needs: green.filter(({ week }) => known !== null && week <= known.to),
		known,
		...(tookOver.has(lot.id)
			? { later: later.map(({ week }) => ({ week, greenG: byWeek.get(week) ?? 0 })) }
			: {})
	};
}

function arrivalsOf(lot: Lot, events: LotEvents): { day: Day; greenG: number }[] {
	if (events.receivedAt !== null || lot.expectedOn === null) return [];
	return [{ day: lot.expectedOn, greenG: lot.bagG * lot.bagsExpected }];
}

function waitingLots(
	from: Derivation,
	known: KnownLots,
	supply: readonly Pick<LotSupply, 'successorIds'>[],
	succession: Succession
): WaitingFacts[] {
	const stocks = from.lots.map((lot) => stockOf(from, lot, succession));
	const covers = new Map(from.lots.map((lot, i) => [lot.id, stockCover(stocks[i]!)]));
	return from.lots.map((lot, i): WaitingFacts => {
		const events = from.records.get(lot.id)!.events;
		const now = from.standings.get(lot.id)!;
		const remaining = known.remaining.get(lot.id) ?? null;
		const { successorIds } = supply[i]!;
		return {
			...{ lot, events, standing: now, remaining, successorIds },
			daysInStage: daysInStage(now, from.now),
			testsRoasted: events.tests.filter((t) => t.roastedAt !== null).length,
			testsWaiting: events.tests.filter((t) => t.roastedAt === null).length,
			cover: covers.get(lot.id)!,
			stock: stocks[i]!,
			orderBy: orderBy(from, known, lot, { cover: covers.get(lot.id)!, successorIds }),
			loss: from.losses.get(lot.id)!,
			testRoasterIds: testRoasterIds(from, lot),
			releaseBy: remaining === null ? null : releaseBy(from, lot, covers)
		};
	});
}

function releaseBy(
	{ lots, site }: Derivation,
	lot: Lot,
	covers: ReadonlyMap<number, StockCover>
): ReleaseByAnswer {
	const before = lots.find((l) => l.id === lot.replacesLotId);
	return releaseByOf({
		neededOn: lot.neededOn,
		replaces: before ? { code: before.code, cover: covers.get(before.id)! } : null,
		leadDays: site.releaseLeadDays
	});
}

/** Null for a lot that another one replaces already, and for one that has nothing and gets nothing. */
function orderBy(
	{ site, records, standings, today, workingWeekdays, supplierLeads }: Derivation,
	{ newLotTests }: KnownLots,
	lot: Lot,
	{ cover, successorIds }: Pick<LotFacts, 'cover' | 'successorIds'>
): OrderBy | null {
	const { stage } = standings.get(lot.id)!;
	const { events } = records.get(lot.id)!;
	const isDue = arrivalsOf(lot, events).some(({ day }) => day >= today);
	if (successorIds.length > 0 || stage === 'rejected') return null;
	if (cover.runOutDay === null || (events.onHandG === 0 && !isDue)) return null;
	const own = supplierLeads.get(lot.supplier);
	return orderByOf({
		...{ code: lot.code, cover, tests: newLotTests(lot.kind as LotKind) },
		cycleDays: site.testCycleDays,
		workedDays: workingWeekdays.length,
		supplierLeadDays: own ?? site.supplierLeadDays,
		supplier: own === undefined ? null : lot.supplier,
		releaseLeadDays: site.releaseLeadDays
	});
}

/** The roaster of its latest test, else the smallest one. */
function testRoasterIds({ roasters, records }: Derivation, lot: Lot): readonly number[] {
	const id = records.get(lot.id)!.testRoasterId ?? roasters[0]?.id;
	return id === undefined ? [] : [id];
}

/** Open lots as slots go to them: those with the earliest release-by date first, those without one last. */
function lotsInLine(from: Derivation, lots: readonly WaitingFacts[]): LotInLine[] {
	const dayOfDate = ({ releaseBy }: WaitingFacts) => releaseBy?.releaseBy?.day ?? '9999';
	return lots
		.filter((facts) => facts.remaining !== null)
		.sort((a, b) => (dayOfDate(a) < dayOfDate(b) ? -1 : 1))
		.map(({ lot, events, remaining, testRoasterIds: roasterIds }) => ({
			lotId: lot.id,
			from: firstTestDay(from.today, lot, events),
			roasterIds,
			tests: Math.ceil(remaining!.mean),
			apartDays: from.site.testCycleDays
		}));
}

function readyFacts(
	from: Derivation,
	facts: WaitingFacts,
	slotDays: ReadonlyMap<number, readonly Day[]>,
	stocks: ReadonlyMap<number, StockFacts>
): LotFacts {
	const { lot, remaining, releaseBy } = facts;
	if (remaining === null || releaseBy === null) return { ...facts, ready: null, readyFacts: null };
	const replaced = lot.neededOn === null ? lot.replacesLotId : null;
	const ready: ReadyFacts = {
		...testFacts(from, lot, remaining, slotDays.get(lot.id) ?? []),
		releaseBy: releaseBy.releaseBy,
		...(releaseBy.releaseBy && replaced !== null
			? {
					mayFall: releaseByMayFall(
						stocks.get(replaced)!,
						useOf(from, replaced).spread,
						from.site.releaseLeadDays
					)
				}
			: {})
	};
	return { ...facts, ready: readyOutlook(ready), readyFacts: ready };
}

/** What says on which day the last test of a lot has its verdict. */
function testFacts(
	from: Derivation,
	lot: Lot,
	remaining: RemainingTests,
	days: readonly Day[]
): Omit<ReadyFacts, 'releaseBy' | 'mayFall'> {
	return {
		from: firstTestDay(from.today, lot, from.records.get(lot.id)!.events),
		tests: remaining,
		fewestTests: remaining.fewest,
		cycleDays: from.site.testCycleDays,
		workingWeekdays: from.workingWeekdays,
		...(days.length > 0 ? { slotDays: days } : {})
	};
}

/** How the orders of the products that a lot goes into went up and down. */
function useOf({ orders, blends, week }: Derivation, lotId: number): UseSpread {
	const products = new Set(blends.filter((p) => p.lotId === lotId).map((p) => p.productId));
	const byWeek = new Map<IsoWeek, number>();
	for (const row of orders)
		if (products.has(row.productId))
			byWeek.set(row.week, (byWeek.get(row.week) ?? 0) + row.roastedG);
	return useSpread(byWeek, week, WEEKS_OF_USE);
}

/** Today, or the day an expected lot arrives. */
function firstTestDay(today: Day, lot: Lot, events: LotEvents): Day {
	const arrives = events.receivedAt === null ? lot.expectedOn : null;
	return arrives !== null && arrives > today ? arrives : today;
}

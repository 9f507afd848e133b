import { stockCover, type StockCover, type StockFacts } from '#lib/domain/demand/cover.ts';
import { explodeDemand, weeklyGreen, type LotNeed } from '#lib/domain/demand/explosion.ts';
import type { ProductBlend } from '#lib/domain/demand/products.ts';
import {
	MONDAY_TO_FRIDAY,
	readyOutlook,
	type ReadyFacts,
	type ReadyOutlook
} from '#lib/domain/demand/ready.ts';
import { releaseByOf, type ReleaseByAnswer } from '#lib/domain/demand/releaseBy.ts';
import { slotDaysByLot, type DaySlots, type LotInLine } from '#lib/domain/demand/slotDays.ts';
import { releaseByMayFall, useSpread, type UseSpread } from '#lib/domain/demand/use.ts';
import { weightLosses, type WeightLoss } from '#lib/domain/demand/weightLoss.ts';
import type { LotEvents, LotKind, Standing } from '#lib/domain/lot/lot.ts';
import { daysInStage, standing } from '#lib/domain/lot/standing.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { Day, InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import { addWeeks, dayOf, daysOfWeek, weekOf } from '#lib/domain/quantity/week.ts';
import {
	testsAhead,
	type LotPast,
	type ReadingTraits,
	type RemainingTests
} from '#lib/domain/trial/remaining.ts';
import type { Reader } from '../db/client.ts';
import { loadLotEvents, loadLots, type Lot } from '../store/lots.ts';
import {
	loadBlendParts,
	loadDemand,
	loadProducts,
	loadSlotsAhead,
	loadYields,
	type BlendPart,
	type DemandRow,
	type Product
} from '../store/production.ts';
import { loadUsualWeek } from '../store/planning.ts';
import { loadReadingTraits } from '../store/readings.ts';
import { loadRoasters, requireSite, type Roaster, type Site } from '../store/site.ts';
import { loadTestRoasters } from '../store/tests.ts';
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

/** Loads and derives the roastery as it stands at `now`. Throws before the site is set up. */
export async function loadRoastery(db: Reader, now: InstantMs): Promise<Roastery> {
	const site = await requireSite(db);
	const today = dayOf(now, site.timeZone);
	const week = weekOf(today);
	const [lots, events, traits, products, blends, orders, yields] = await Promise.all([
		loadLots(db),
		loadLotEvents(db),
		loadReadingTraits(db),
		loadProducts(db),
		loadBlendParts(db),
		loadDemand(db, addWeeks(week, -WEEKS_OF_USE)),
		loadYields(db)
	]);
	const [roasters, usual, slots, testRoasters] = await Promise.all([
		loadRoasters(db),
		loadUsualWeek(db),
		loadSlotsAhead(db, now),
		loadTestRoasters(db)
	]);
	const demand = orders.filter((row) => row.week >= week);
	const kinds = lots.map((lot) => ({ lotId: lot.id, kind: lot.kind as LotKind }));
	const losses = weightLosses(kinds, yields);
	const { needs, problems } = needsOf(products, blends, demand, losses);
	const zone = site.timeZone;
	const free = testSlots({ now, zone, roasters, usual, slots, needs });
	const weekdays = [...new Set(usual.shifts.map((s) => s.weekday))];
	const facts = deriveLots({
		...{ site, now, today, week, lots, events, traits, losses, needs, demand, blends, orders },
		...{ roasters, testRoasters },
		testSlots: free,
		workingWeekdays: weekdays.length > 0 ? weekdays : MONDAY_TO_FRIDAY
	});
	return {
		...{ site, now, today, week, lots: facts, products, blends, demand, needs, problems },
		testSlots: free
	};
}

/** What a product is made of in a week: the newest block of parts not after its Monday. */
export function blendIn(
	product: Product,
	parts: readonly BlendPart[],
	week: IsoWeek
): ProductBlend | null {
	const monday = daysOfWeek(week)[0]!;
	const known = parts.filter((p) => p.productId === product.id && p.fromDay <= monday);
	const from = known.at(-1)?.fromDay;
	if (from === undefined) return null;
	return {
		productId: product.id,
		code: product.code,
		name: product.name,
		components: known.filter((p) => p.fromDay === from)
	};
}

function needsOf(
	products: readonly Product[],
	blends: readonly BlendPart[],
	demand: readonly DemandRow[],
	losses: ReadonlyMap<number, WeightLoss>
): { needs: LotNeed[]; problems: Problem[] } {
	const needs: LotNeed[] = [];
	const problems: Problem[] = [];
	for (const [week, rows] of Map.groupBy(demand, (row) => row.week)) {
		const made = products.flatMap((product) => blendIn(product, blends, week) ?? []);
		const known = new Set(made.map((blend) => blend.productId));
		for (const row of rows)
			if (!known.has(row.productId) && row.roastedG > 0)
				problems.push({
					path: `${week}, ${products.find((p) => p.id === row.productId)?.code ?? ''}`,
					message: 'The product has orders but nothing says what it is made of.'
				});
		const exploded = explodeDemand(
			made,
			rows.filter((row) => known.has(row.productId)),
			losses
		);
		if (exploded.ok) needs.push(...exploded.value);
		else problems.push(...exploded.problems);
	}
	return { needs, problems };
}

interface Derivation {
	readonly site: Site;
	readonly now: InstantMs;
	readonly today: Day;
	readonly week: IsoWeek;
	readonly lots: readonly Lot[];
	readonly events: ReadonlyMap<number, LotEvents>;
	readonly traits: ReadonlyMap<number, ReadingTraits>;
	readonly losses: ReadonlyMap<number, WeightLoss>;
	readonly needs: readonly LotNeed[];
	readonly demand: readonly DemandRow[];
	/** Demand with that of the weeks before this one. */
	readonly orders: readonly DemandRow[];
	readonly blends: readonly BlendPart[];
	readonly roasters: readonly Roaster[];
	readonly testRoasters: ReadonlyMap<number, number>;
	readonly testSlots: readonly DaySlots[];
	readonly workingWeekdays: readonly number[];
}

/** What is known of a lot before days are looked for on which it may be tested. */
type WaitingFacts = Omit<LotFacts, 'ready' | 'readyFacts'>;

function deriveLots(from: Derivation): LotFacts[] {
	const pasts: LotPast[] = from.lots.map((lot) => {
		const events = from.events.get(lot.id)!;
		const reading = from.traits.get(lot.id) ?? null;
		return { lotId: lot.id, kind: lot.kind as LotKind, events, reading };
	});
	const stocks = stocksOf(from);
	const covers = new Map([...stocks].map(([lotId, stock]) => [lotId, stockCover(stock)]));
	const ahead = testsAhead(pasts);
	const waiting = from.lots.map((lot, i) => waitingFacts(from, lot, pasts[i]!, ahead, covers));
	const slotDays = slotDaysByLot(from.testSlots, lotsInLine(from, waiting));
	return waiting.map((facts) => readyFacts(from, facts, slotDays, stocks));
}

/** What each lot's cover rests on. */
function stocksOf(from: Derivation): ReadonlyMap<number, StockFacts> {
	const green = weeklyGreen(from.needs);
	const weeks = from.demand.map((d) => d.week);
	const known =
		weeks.length > 0 ? { from: weeks[0]!, to: weeks.reduce((a, b) => (a > b ? a : b)) } : null;
	return new Map(
		from.lots.map((lot) => [
			lot.id,
			{
				today: from.today,
				onHandG: from.events.get(lot.id)!.onHandG,
				arrivals: arrivalsOf(lot, from.events.get(lot.id)!),
				needs: green.get(lot.id) ?? [],
				known
			}
		])
	);
}

function arrivalsOf(lot: Lot, events: LotEvents): { day: Day; greenG: number }[] {
	if (events.receivedAt !== null || lot.expectedOn === null) return [];
	return [{ day: lot.expectedOn, greenG: lot.bagG * lot.bagsExpected }];
}

function waitingFacts(
	from: Derivation,
	lot: Lot,
	past: LotPast,
	ahead: ReturnType<typeof testsAhead>,
	covers: ReadonlyMap<number, StockCover>
): WaitingFacts {
	const { events } = past;
	const now = standing(events);
	const facts = {
		lot,
		events,
		standing: now,
		daysInStage: daysInStage(now, from.now),
		testsRoasted: events.tests.filter((t) => t.roastedAt !== null).length,
		testsWaiting: events.tests.filter((t) => t.roastedAt === null).length,
		cover: covers.get(lot.id)!,
		loss: from.losses.get(lot.id)!,
		testRoasterIds: testRoasterIds(from, lot)
	};
	if (!OPEN.has(now.stage)) return { ...facts, remaining: null, releaseBy: null };
	const before = from.lots.find((l) => l.id === lot.replacesLotId);
	const releaseBy = releaseByOf({
		neededOn: lot.neededOn,
		replaces: before ? { code: before.code, cover: covers.get(before.id)! } : null,
		leadDays: from.site.releaseLeadDays
	});
	return { ...facts, remaining: ahead(past), releaseBy };
}

/** The roaster of its latest test, else the smallest one. */
function testRoasterIds({ roasters, testRoasters }: Derivation, lot: Lot): readonly number[] {
	const id = testRoasters.get(lot.id) ?? roasters[0]?.id;
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
	const { lot, events, remaining, releaseBy } = facts;
	if (remaining === null || releaseBy === null) return { ...facts, ready: null, readyFacts: null };
	const days = slotDays.get(lot.id) ?? [];
	const replaced = lot.neededOn === null ? lot.replacesLotId : null;
	const ready: ReadyFacts = {
		from: firstTestDay(from.today, lot, events),
		tests: remaining,
		fewestTests: remaining.fewest,
		cycleDays: from.site.testCycleDays,
		workingWeekdays: from.workingWeekdays,
		releaseBy: releaseBy.releaseBy,
		...(days.length > 0 ? { slotDays: days } : {}),
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

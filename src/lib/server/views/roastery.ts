import { stockCover, type StockCover } from '#lib/domain/demand/cover.ts';
import { explodeDemand, weeklyGreen, type LotNeed } from '#lib/domain/demand/explosion.ts';
import type { ProductBlend } from '#lib/domain/demand/products.ts';
import { MONDAY_TO_FRIDAY, readyOutlook, type ReadyOutlook } from '#lib/domain/demand/ready.ts';
import { releaseByOf, type ReleaseByAnswer } from '#lib/domain/demand/releaseBy.ts';
import { weightLosses, type WeightLoss } from '#lib/domain/demand/weightLoss.ts';
import type { LotEvents, LotKind, Standing } from '#lib/domain/lot/lot.ts';
import { daysInStage, standing } from '#lib/domain/lot/standing.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { Day, InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import { dayOf, daysOfWeek, weekOf } from '#lib/domain/quantity/week.ts';
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
	loadYields,
	type BlendPart,
	type DemandRow,
	type Product
} from '../store/production.ts';
import { loadReadingTraits } from '../store/readings.ts';
import { loadShifts, requireSite, type Site } from '../store/site.ts';

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

/** Loads and derives the roastery as it stands at `now`. Throws before the site is set up. */
export async function loadRoastery(db: Reader, now: InstantMs): Promise<Roastery> {
	const site = await requireSite(db);
	const today = dayOf(now, site.timeZone);
	const week = weekOf(today);
	const [lots, events, traits, products, blends, demand, yields, shifts] = await Promise.all([
		loadLots(db),
		loadLotEvents(db),
		loadReadingTraits(db),
		loadProducts(db),
		loadBlendParts(db),
		loadDemand(db, week),
		loadYields(db),
		loadShifts(db)
	]);
	const kinds = lots.map((lot) => ({ lotId: lot.id, kind: lot.kind as LotKind }));
	const losses = weightLosses(kinds, yields);
	const { needs, problems } = needsOf(products, blends, demand, losses);
	const weekdays = [...new Set(shifts.map((s) => s.weekday))];
	const facts = deriveLots({
		...{ site, now, today, lots, events, traits, losses, needs, demand },
		workingWeekdays: weekdays.length > 0 ? weekdays : MONDAY_TO_FRIDAY
	});
	return { site, now, today, week, lots: facts, products, blends, demand, needs, problems };
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
	readonly lots: readonly Lot[];
	readonly events: ReadonlyMap<number, LotEvents>;
	readonly traits: ReadonlyMap<number, ReadingTraits>;
	readonly losses: ReadonlyMap<number, WeightLoss>;
	readonly needs: readonly LotNeed[];
	readonly demand: readonly DemandRow[];
	readonly workingWeekdays: readonly number[];
}

function deriveLots(from: Derivation): LotFacts[] {
	const pasts: LotPast[] = from.lots.map((lot) => {
		const events = from.events.get(lot.id)!;
		const reading = from.traits.get(lot.id) ?? null;
		return { lotId: lot.id, kind: lot.kind as LotKind, events, reading };
	});
	const green = weeklyGreen(from.needs);
	const weeks = from.demand.map((d) => d.week);
	const known =
		weeks.length > 0 ? { from: weeks[0]!, to: weeks.reduce((a, b) => (a > b ? a : b)) } : null;
	const covers = new Map(
		from.lots.map((lot) => [
			lot.id,
			stockCover({
				today: from.today,
				onHandG: from.events.get(lot.id)!.onHandG,
				arrivals: arrivalsOf(lot, from.events.get(lot.id)!),
				needs: green.get(lot.id) ?? [],
				known
			})
		])
	);
	const ahead = testsAhead(pasts);
	return from.lots.map((lot, i) => lotFacts(from, lot, pasts[i]!, ahead, covers));
}

function arrivalsOf(lot: Lot, events: LotEvents): { day: Day; greenG: number }[] {
	if (events.receivedAt !== null || lot.expectedOn === null) return [];
	return [{ day: lot.expectedOn, greenG: lot.bagG * lot.bagsExpected }];
}

function lotFacts(
	from: Derivation,
	lot: Lot,
	past: LotPast,
	ahead: ReturnType<typeof testsAhead>,
	covers: ReadonlyMap<number, StockCover>
): LotFacts {
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
		loss: from.losses.get(lot.id)!
	};
	if (!OPEN.has(now.stage)) return { ...facts, remaining: null, releaseBy: null, ready: null };
	const before = from.lots.find((l) => l.id === lot.replacesLotId);
	const releaseBy = releaseByOf({
		neededOn: lot.neededOn,
		replaces: before ? { code: before.code, cover: covers.get(before.id)! } : null,
		leadDays: from.site.releaseLeadDays
	});
	const remaining = ahead(past);
	const ready = readyOutlook({
		from: firstTestDay(from.today, lot, events),
		tests: remaining,
		fewestTests: remaining.fewest,
		cycleDays: from.site.testCycleDays,
		workingWeekdays: from.workingWeekdays,
		releaseBy: releaseBy.releaseBy
	});
	return { ...facts, remaining, releaseBy, ready };
}

/** Today, or the day an expected lot arrives. */
function firstTestDay(today: Day, lot: Lot, events: LotEvents): Day {
	const arrives = events.receivedAt === null ? lot.expectedOn : null;
	return arrives !== null && arrives > today ? arrives : today;
}

import { changeoversFor } from '#lib/domain/plan/changeover.ts';
import type { Change, Unplaced } from '#lib/domain/plan/plan.ts';
import { presencesIn, windowsIn } from '#lib/domain/plan/hours.ts';
import { regularEndOf } from '#lib/domain/plan/problem.ts';
import type {
	BatchTraits,
	LockedSlot,
	PlanProblem,
	ProductionNeed,
	Roaster,
	RoastShade,
	TestNeed,
	Window
} from '#lib/domain/plan/problem.ts';
import { hoursWith, type WhatIf } from '#lib/domain/plan/whatIf.ts';
import { formatKg } from '#lib/domain/quantity/mass.ts';
import type { InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import { addWeeks, dayOf, instantAt, startOfWeek, weekdayOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import {
	loadLastBatches,
	loadProduction,
	loadSlots,
	loadSlotsElsewhere,
	type LastBatch,
	type Slot
} from '../store/production.ts';
import {
	loadFlavoured,
	loadPlanSettings,
	loadRoasterBars,
	loadUsualWeek,
	type RoasterBar
} from '../store/planning.ts';
import { loadRoasters } from '../store/site.ts';
import { loadTests, type TestRecord } from '../store/tests.ts';
import { isOpen, type LotFacts, type Roastery } from './roastery.ts';

const MS_PER_HOUR = 3_600_000;
const MS_PER_MIN = 60_000;
/** Slots start on round times: a plan made at 10:02 begins at 10:05. */
const ROUND_MS = 5 * 60_000;

/** Earliest start of a plan made now: the next round time. */
export function planFromMs(now: InstantMs): InstantMs {
	return Math.ceil(now / ROUND_MS) * ROUND_MS;
}

/** What a week is planned from, with what can't be asked of the roasters at all. */
export interface WeekProblem {
	readonly problem: PlanProblem;
	/** Needs that no slot can serve: the lot is not released, or not enough of it is left. */
	readonly unservable: readonly Unplaced[];
	/** Every slot of the week, as stored and in the planner's terms. */
	readonly standing: readonly { readonly row: Slot; readonly slot: LockedSlot }[];
}

/**
 * The planning problem of one ISO week: its shifts from now on, what its orders still need, every test
 * that waits, and the slots that stay where they are: those a person has locked, and one under way.
 * Slots that are over count for nothing here; what was roasted in them is in the records. What earlier
 * weeks have planned is not planned again: their tests are theirs, their green coffee is spoken for.
 * Nothing new starts before `earliestMs`. What the floor has recorded is not a slot to come: it is in the
 * records, and the roaster's last batch.
 * @param freed numbers of slots that need not stay although somebody fixed them
 * @param changes of the hours, as in the roastery given
 */
export async function loadWeekProblem(
	db: Reader,
	roastery: Roastery,
	week: IsoWeek,
	earliestMs = planFromMs(roastery.now),
	freed: readonly number[] = [],
	changes: readonly WhatIf[] = []
): Promise<WeekProblem> {
	const { site } = roastery;
	const startMs = startOfWeek(week, site.timeZone);
	const endMs = startOfWeek(addWeeks(week, 1), site.timeZone);
	const fromMs = Math.max(earliestMs, startMs);
	const [roasters, recordedHours, settings, bars, flavoured] = await Promise.all([
		loadRoasters(db),
		loadUsualWeek(db),
		loadPlanSettings(db),
		loadRoasterBars(db),
		loadFlavoured(db)
	]);
	const [tests, produced, last, slots, others] = await Promise.all([
		loadTests(db),
		loadProduction(db, startMs, endMs - 1),
		loadLastBatches(db, fromMs),
		loadSlots(db, week),
		loadSlotsElsewhere(db, week, roastery.now)
	]);
	const usual = hoursWith(recordedHours, changes);
	const elsewhere = others.filter((s) => s.week < week || s.locked);
	const windows = windowsIn(usual, week, site.timeZone);
	const profiling = presencesIn(usual, week, site.timeZone);
	// An extra shift of a day is there to catch up in, and moves no due date.
	const usualWindows = windowsIn({ ...usual, days: [] }, week, site.timeZone);
	const dueMs = usualWindows.reduce((latest, w) => Math.max(latest, regularEndOf(w)), startMs);
	const traits = traitsOf(roastery, flavoured);
	const ahead = slots.filter((s) => s.endAt > fromMs);
	const locked = ahead.filter(
		(s) => (s.locked || s.startAt < fromMs) && s.recordedAt === null && !freed.includes(s.id)
	);
	const { production, unservable } = productionNeeds(
		roastery,
		{ week, dueMs, produced, before: elsewhere.filter((s) => s.week < week) },
		traits
	);
	const changeovers = changeoversFor(settings.separations);
	return {
		problem: {
			fromMs,
			zone: site.timeZone,
			roasters: roasters.map((roaster) => ({
				...roaster,
				changeovers,
				...lastOf(last.get(roaster.id), roaster.cycleMin, traits)
			})),
			windows,
			production: production.map((need) => withRoasters(need, roastery, roasters, bars)),
			tests: testNeeds(roastery, tests, { fromMs, dueMs, locked, elsewhere }, traits),
			...(profiling ? { profiling } : {}),
			locked: locked.map((s) => lockedSlot(s, traits)),
			cuppingLagMs: site.cuppingLagHours * MS_PER_HOUR
		},
		unservable,
		standing: slots.map((row) => ({ row, slot: lockedSlot(row, traits) }))
	};
}

/** The stretches of a week in which roasters are staffed. */
export async function loadWindows(
	db: Reader,
	week: IsoWeek,
	zone: string
): Promise<readonly Window[]> {
	return windowsIn(await loadUsualWeek(db), week, zone);
}

/** A need with the roasters that may take its product and its kind of lot. */
function withRoasters(
	need: ProductionNeed,
	{ lots }: Roastery,
	roasters: readonly { readonly id: number }[],
	bars: readonly RoasterBar[]
): ProductionNeed {
	const kind = lots.find(({ lot }) => lot.id === need.lotId)?.lot.kind;
	const barred = new Set(
		bars
			.filter(({ productId, lotKind }) => productId === need.productId || lotKind === kind)
			.map(({ roasterId }) => roasterId)
	);
	if (barred.size === 0) return need;
	return { ...need, roasterIds: roasters.map(({ id }) => id).filter((id) => !barred.has(id)) };
}

type TraitsOf = (lotId: number, productId: number | null) => BatchTraits;

/**
 * Shade and flavour of the product, decaf and certificate of the lot; a test is taken as a roast of the
 * product that its lot is meant for, else as a medium one.
 */
function traitsOf({ lots, products }: Roastery, flavoured: ReadonlySet<number>): TraitsOf {
	const lotById = new Map(lots.map(({ lot }) => [lot.id, lot]));
	const shades = new Map(products.map((p) => [p.id, p.shade as RoastShade]));
	return (lotId, productId) => {
		const lot = lotById.get(lotId);
		return {
			decaf: lot?.decaf ?? false,
			certifiedOrganic: lot?.organic ?? false,
			flavoured: productId !== null && flavoured.has(productId),
			shade: shades.get(productId ?? lot?.forProductId ?? 0) ?? 'medium'
		};
	};
}

function lastOf(
	last: LastBatch | undefined,
	cycleMin: number,
	traits: TraitsOf
): Pick<Roaster, 'lastBatch' | 'lastEndMs'> {
	if (!last) return { lastBatch: null, lastEndMs: null };
	const { lotId, productId, roastedAt } = last;
	return { lastBatch: traits(lotId, productId), lastEndMs: roastedAt + cycleMin * MS_PER_MIN };
}

function lockedSlot(slot: Slot, traits: TraitsOf): LockedSlot {
	return {
		kind: slot.kind as LockedSlot['kind'],
		roasterId: slot.roasterId,
		startMs: slot.startAt,
		endMs: slot.endAt,
		lotId: slot.lotId,
		productId: slot.productId,
		testBatchId: slot.testBatchId,
		chargeG: slot.chargeG,
		dueMs: slot.dueAt,
		traits: traits(slot.lotId, slot.productId)
	};
}

interface WeekFacts {
	readonly week: IsoWeek;
	readonly dueMs: InstantMs;
	/** Roasted in the week already. */
	readonly produced: readonly { lotId: number; productId: number; chargeG: number }[];
	/** Slots to come in earlier weeks. */
	readonly before: readonly Slot[];
}

/** What the week's orders still need of each lot, after what was roasted this week already. */
function productionNeeds(
	{ lots, needs }: Roastery,
	{ week, dueMs, produced, before }: WeekFacts,
	traits: TraitsOf
): { production: ProductionNeed[]; unservable: Unplaced[] } {
	const lotById = new Map(lots.map((facts) => [facts.lot.id, facts]));
	const plannedG = new Map<number, number>();
	for (const s of before) plannedG.set(s.lotId, (plannedG.get(s.lotId) ?? 0) + s.chargeG);
	const stockG = new Map(
		lots.map(({ lot, events }) => [
			lot.id,
			Math.max(0, events.onHandG - (plannedG.get(lot.id) ?? 0))
		])
	);
	const production: ProductionNeed[] = [];
	const unservable: Unplaced[] = [];
	for (const need of needs.filter((n) => n.week === week)) {
		const doneG = produced
			.filter((p) => p.lotId === need.lotId && p.productId === need.productId)
			.reduce((sum, p) => sum + p.chargeG, 0);
		const wantedG = Math.max(0, need.greenG - doneG);
		if (wantedG === 0) continue;
		const facts = lotById.get(need.lotId)!;
		const released = facts.standing.stage === 'released';
		const haveG = released ? (stockG.get(need.lotId) ?? 0) : 0;
		const greenG = Math.min(wantedG, haveG);
		stockG.set(need.lotId, haveG - greenG);
		if (greenG > 0)
			production.push({
				...traits(need.lotId, need.productId),
				lotId: need.lotId,
				productId: need.productId,
				greenG,
				dueMs,
				notBeforeMs: null
			});
		if (greenG < wantedG)
			unservable.push({
				kind: 'production',
				lotId: need.lotId,
				productId: need.productId,
				testBatchId: null,
				dueMs,
				greenG: wantedG - greenG,
				reason: [shortReason(facts, wantedG, haveG, plannedG.get(need.lotId) ?? 0)],
				wouldFit: shortChange(facts, wantedG - greenG)
			});
	}
	return { production, unservable };
}

function shortReason(
	{ lot, standing }: LotFacts,
	wantedG: number,
	haveG: number,
	plannedG: number
): string {
	if (standing.stage === 'used up') return `${lot.code} is used up; the blend needs another lot.`;
	if (standing.stage !== 'released')
		return `${lot.code} is ${standing.stage}; production may use it once it is released.`;
	const after = plannedG > 0 ? ` after ${formatKg(plannedG)} in the slots of earlier weeks` : '';
	return `${formatKg(wantedG)} of ${lot.code} are needed and ${formatKg(haveG)} are left${after}.`;
}

function shortChange({ lot, standing }: LotFacts, shortG: number): Change {
	const other = `${formatKg(shortG)} less green or another lot in the blend`;
	const text = isOpen({ standing })
		? `The release of ${lot.code}, ${other} would do.`
		: `${other} would do.`;
	return { kind: 'change need', byG: -shortG, text };
}

interface SlotsHeld {
	/** Start of the plan. */
	readonly fromMs: InstantMs;
	/** End of the week's last shift: due there without a release-by date. */
	readonly dueMs: InstantMs;
	/** In the week, staying where they are. */
	readonly locked: readonly Slot[];
	/** In other weeks, to come and not to be taken from them. */
	readonly elsewhere: readonly Slot[];
}

/** Every waiting test without a slot of its own, each after the cupping of the one before it. */
function testNeeds(
	{ lots, site }: Roastery,
	tests: readonly TestRecord[],
	{ fromMs, dueMs: weekEndMs, locked, elsewhere }: SlotsHeld,
	traits: TraitsOf
): TestNeed[] {
	const factsById = new Map(lots.map((facts) => [facts.lot.id, facts]));
	const fixed = new Set(locked.map((s) => s.testBatchId));
	const lagMs = site.cuppingLagHours * MS_PER_HOUR;
	const endElsewhere = new Map(elsewhere.map((s) => [s.testBatchId, s.endAt]));
	return [...Map.groupBy(tests, (t) => t.batch.lotId)].flatMap(([lotId, ofLot]) => {
		const facts = factsById.get(lotId)!;
		if (facts.remaining === null || facts.remaining.mean === 0) return [];
		const waiting = ofLot.filter((t) => !t.roast);
		const lastRoast = ofLot.findLast((t) => t.roast && !t.verdict)?.roast;
		const cuppedMs = lastRoast ? Math.max(fromMs, lastRoast.roastedAt + lagMs) : null;
		const by = facts.releaseBy?.releaseBy;
		const dueMs = by ? instantAt(by.day, 0, site.timeZone) : weekEndMs;
		return waiting.flatMap((t, i): TestNeed[] => {
			const before = waiting[i - 1]?.batch.id ?? null;
			const endMs = endElsewhere.get(before);
			const isElsewhere = before !== null && endMs !== undefined;
			return fixed.has(t.batch.id) || endElsewhere.has(t.batch.id)
				? []
				: [
						{
							...traits(lotId, null),
							testBatchId: t.batch.id,
							lotId,
							roasterId: t.batch.roasterId,
							chargeG: t.batch.settings.chargeG,
							dueMs,
							notBeforeMs: isElsewhere ? endMs + lagMs : i === 0 ? cuppedMs : null,
							afterTestBatchId: isElsewhere ? null : before
						}
					];
		});
	});
}

/** The ISO weekday of an instant, for grouping slots by day. */
export function weekdayAt(instant: InstantMs, zone: string): number {
	return weekdayOf(dayOf(instant, zone));
}

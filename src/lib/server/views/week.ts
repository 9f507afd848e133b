import { isOnAccount } from '#lib/domain/access/rights.ts';
import type { LotNeed } from '#lib/domain/demand/explosion.ts';
import type { PlanBound, PlanCost } from '#lib/domain/plan/objective.ts';
import type { RoasterMinutes, Setup, Unplaced } from '#lib/domain/plan/plan.ts';
import { regularEndOf, type Window } from '#lib/domain/plan/problem.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { Day, InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import {
	addWeeks,
	dayOf,
	daysOfWeek,
	minuteOfDay,
	startOfWeek,
	weekOf
} from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadActsAfter } from '../store/acts.ts';
import {
	loadDemand,
	loadProduction,
	loadSlots,
	loadWeekChanges,
	loadWeekPlan,
	slotRow,
	type Slot,
	type WeekChange,
	type WeekPlanRow
} from '../store/production.ts';
import { isSearching, loadPlanSearch, type PlanSearch } from '../store/planning.ts';
import { loadRoasters, requireSite, type Roaster } from '../store/site.ts';
import { loadTests, type TestRecord } from '../store/tests.ts';
import { momentOf } from './moment.ts';
import { loadWindows } from './planProblem.ts';
import { loadRoastery, type Roastery } from './roastery.ts';
import { momentShortWords, momentWords, weekdayWords } from './words.ts';

/** One slot with the names and reasons it is shown with. */
export interface SlotView {
	readonly id: number;
	readonly roasterId: number;
	readonly day: Day;
	/** Minutes after the site's midnight of `day`. */
	readonly fromMin: number;
	readonly toMin: number;
	readonly kind: 'production' | 'test';
	readonly lotCode: string;
	readonly lotName: string;
	readonly productCode: string | null;
	readonly productName: string | null;
	readonly testNumber: number | null;
	readonly testPurpose: string | null;
	readonly chargeG: number;
	readonly late: boolean;
	readonly locked: boolean;
	/** Whether its time is over: planning leaves it, lock or no lock. */
	readonly over: boolean;
	/** Whether it is still ahead, so that it can be moved by hand. */
	readonly canMove: boolean;
	/** What the floor noted. */
	readonly note: string;
	/** Where it was planned, `Mon 23 Nov 10:00`, once the floor recorded it; null before. */
	readonly recordedFrom: string | null;
	/** Why it is where it is, data first. */
	readonly reasons: readonly string[];
	/** What happens on the roaster before it, in order. */
	readonly setup: readonly Setup[];
}

/** Minutes after the site's midnight. */
export interface Span {
	readonly fromMin: number;
	readonly toMin: number;
}

export interface DayView {
	readonly day: Day;
	/** `Mon 23 Nov`. */
	readonly label: string;
	/** In the order of the week's roasters. */
	readonly roasters: readonly {
		readonly code: string;
		readonly name: string;
		readonly windows: readonly Span[];
		readonly slots: readonly SlotView[];
	}[];
}

/** A need without a slot, in words. */
export interface UnplacedView {
	readonly kind: 'production' | 'test';
	readonly lotCode: string;
	readonly productName: string | null;
	readonly testNumber: number | null;
	readonly greenG: number;
	/** `Fri 27 Nov 15:30`. */
	readonly due: string;
	readonly reasons: readonly string[];
	/** The smallest change that would make it fit; null when no single one does. */
	readonly change: string | null;
}

/** What one product needs in the week. */
export interface OrderView {
	readonly productCode: string;
	readonly productName: string;
	/** Roasted grams ordered. */
	readonly roastedG: number;
	/** Roasted grams made in the week so far. */
	readonly madeG: number;
	/** Empty for a week that is over. */
	readonly needs: readonly {
		readonly lotCode: string;
		readonly stage: string;
		readonly roastedG: number;
		readonly greenG: number;
		/** How roasted became green: the weight loss and what it was measured on. */
		readonly because: string;
	}[];
}

export interface PlanView {
	/** `24 Nov 2026, 16:02`. */
	readonly at: string;
	readonly by: string;
	/** Acts since then that can change a plan; 0 while it stands on today's records. */
	readonly changes: number;
	/** The newest of them: `record test roast by Owen, Wed 25 Nov 14:20`. */
	readonly lastChange: string | null;
	readonly unplaced: readonly UnplacedView[];
	readonly minutes: readonly (RoasterMinutes & { readonly code: string; readonly name: string })[];
	/** Slots that end after they are due. */
	readonly late: number;
	/** What it costs by the weights it was made with; null in plans older than the weights. */
	readonly cost: PlanCost | null;
	/** Goes up with every act on the plan. */
	readonly version: number;
	/** The last act that can be taken back: `moved HR-151 test 2 ... (Jo, Tue 24 Nov 10:02)`; null without one. */
	readonly undo: string | null;
}

/** The search for a better plan, under way or ended. */
export interface FoundView {
	/** Names it; changes with every search. */
	readonly startedAt: InstantMs;
	/** `25 Nov 2026, 10:05`. */
	readonly at: string;
	readonly by: string;
	/** The plan's first possible start, `Wed 25 Nov 10:20`. */
	readonly from: string;
	readonly state: 'searching' | 'stopping' | 'ended' | 'stopped' | 'broken';
	readonly failure: string | null;
	readonly steps: number;
	readonly budget: number;
	readonly seed: number;
	readonly startCost: number;
	readonly cost: PlanCost;
	/** What no plan of the week goes below. */
	readonly bound: PlanBound | null;
	readonly unplaced: readonly UnplacedView[];
	/** Whether its start is still ahead. */
	readonly canKeep: boolean;
}

export interface WeekView {
	readonly week: IsoWeek;
	readonly thisWeek: IsoWeek;
	readonly previous: IsoWeek;
	readonly next: IsoWeek;
	readonly siteName: string;
	readonly firstDay: Day;
	readonly lastDay: Day;
	/** When this was worked out, `25 Nov 2026, 10:05`. */
	readonly at: string;
	/** Null while the week was never planned. */
	readonly plan: PlanView | null;
	/** Null without a search. */
	readonly found: FoundView | null;
	/** Whether the days below show what the search found instead of the plan that is kept. */
	readonly showsFound: boolean;
	/** Whether a shift of the week still has time left. */
	readonly canPlan: boolean;
	/** Whether there is a roaster with shifts at all. */
	readonly hasShifts: boolean;
	readonly days: readonly DayView[];
	/** Every roaster, by code. */
	readonly roasters: readonly {
		readonly id: number;
		readonly code: string;
		readonly name: string;
	}[];
	readonly orders: readonly OrderView[];
	/** Orders that can't be turned into lots, and why. */
	readonly problems: readonly Problem[];
}

/** Acts after which a plan stays as right as it was; planning an earlier week takes from a later one. */
const LEAVE_THE_PLAN: ReadonlySet<string> = new Set([
	'lock slot',
	'unlock slot',
	'move slot',
	'copy last week',
	'undo week change',
	'record a slot',
	'search week plan',
	'stop week plan search',
	'drop found week plan',
	'record price terms',
	'record recovery',
	'save cost rate'
]);

/** Acts that plan a whole week: they leave the plans of earlier weeks. */
const PLANS_A_WEEK: ReadonlySet<string> = new Set([
	'plan week',
	'keep found week plan',
	'keep a what-if'
]);

/** The week to open: this one, or the next when no shift of this one has time left. */
export async function loadWeekToOpen(db: Reader, now: InstantMs): Promise<IsoWeek> {
	const { timeZone } = await requireSite(db);
	const week = weekOf(dayOf(now, timeZone));
	const windows = await loadWindows(db, week, timeZone);
	const isOver = windows.length > 0 && windows.every(({ endMs }) => endMs <= now);
	return isOver ? addWeeks(week, 1) : week;
}

/** A week with its slots, its orders and what they need. */
export async function loadWeekView(
	db: Reader,
	now: InstantMs,
	week: IsoWeek,
	wantsFound = false
): Promise<WeekView> {
	const roastery = await loadRoastery(db, now);
	const { site } = roastery;
	const zone = site.timeZone;
	const [roasters, windows, kept, plan, tests, search, changes] = await Promise.all([
		loadRoasters(db),
		loadWindows(db, week, zone),
		loadSlots(db, week),
		loadWeekPlan(db, week),
		loadTests(db),
		loadPlanSearch(db, week),
		loadWeekChanges(db, week)
	]);
	const showsFound = wantsFound && search !== null;
	const slots = showsFound ? foundSlots(search, kept) : kept;
	const days = daysOfWeek(week);
	const names = namesOf(roastery, tests);
	const shown = slots.map((slot) => slotView(slot, names, zone, now));
	return {
		week,
		thisWeek: roastery.week,
		previous: addWeeks(week, -1),
		next: addWeeks(week, 1),
		siteName: site.name,
		firstDay: days[0]!,
		lastDay: days[6]!,
		at: momentWords(momentOf(now, zone)),
		plan: plan && {
			...planView(plan, roasters, shown, names, zone, await loadActsAfter(db, plan.plannedAt)),
			undo: undoWords(changes, zone)
		},
		found: search && foundView(search, names, zone, now),
		showsFound,
		canPlan: windows.some((window) => window.endMs > now),
		hasShifts: windows.length > 0,
		days: daysOf(days, roasters, windows, shown, zone),
		roasters: roasters.map(({ id, code, name }) => ({ id, code, name })),
		orders: await ordersOf(db, roastery, week),
		problems: roastery.problems.filter(({ path }) => path.startsWith(week))
	};
}

function daysOf(
	days: readonly Day[],
	roasters: readonly Roaster[],
	windows: readonly Window[],
	slots: readonly SlotView[],
	zone: string
): DayView[] {
	const open = windows.map((window) => ({
		roasterId: window.roasterId,
		...spanOf(window.startMs, regularEndOf(window), zone)
	}));
	const used = new Set([...slots, ...open].map(({ day }) => day));
	return days
		.filter((day, i) => i < 5 || used.has(day))
		.map((day) => ({
			day,
			label: weekdayWords(day),
			roasters: roasters.map(({ id, code, name }) => ({
				code,
				name,
				windows: open.filter((w) => w.roasterId === id && w.day === day),
				slots: slots.filter((s) => s.roasterId === id && s.day === day)
			}))
		}));
}

/** Day and minutes of a stretch of time; past midnight its minutes go on counting. */
function spanOf(startMs: InstantMs, endMs: InstantMs, zone: string): Span & { day: Day } {
	const fromMin = minuteOfDay(startMs, zone);
	return {
		day: dayOf(startMs, zone),
		fromMin,
		toMin: fromMin + Math.round((endMs - startMs) / 60_000)
	};
}

/** Words for the ids that slots and plans hold. */
export interface Names {
	readonly lot: (id: number) => { readonly code: string; readonly name: string };
	readonly product: (id: number | null) => { readonly code: string; readonly name: string } | null;
	readonly test: (id: number | null) => TestRecord | null;
}

/** `HR-151 test 2`, or lot and product. */
export function slotWords(
	slot: Pick<Slot, 'kind' | 'lotId' | 'productId' | 'testBatchId'>,
	names: Names
): string {
	const { code } = names.lot(slot.lotId);
	return slot.kind === 'test'
		? `${code} test ${names.test(slot.testBatchId)?.batch.number ?? ''}`.trim()
		: `${code} for ${names.product(slot.productId)?.name ?? 'no product'}`;
}

/** The names of lots, products and tests. */
export function namesOf({ lots, products }: Roastery, tests: readonly TestRecord[]): Names {
	const lotById = new Map(lots.map(({ lot }) => [lot.id, lot]));
	const productById = new Map(products.map((product) => [product.id, product]));
	const testById = new Map(tests.map((test) => [test.batch.id, test]));
	return {
		lot: (id) => lotById.get(id) ?? { code: `lot ${id}`, name: '' },
		product: (id) => productById.get(id ?? -1) ?? null,
		test: (id) => testById.get(id ?? -1) ?? null
	};
}

function slotView(slot: Slot, names: Names, zone: string, now: InstantMs): SlotView {
	const lot = names.lot(slot.lotId);
	const product = names.product(slot.productId);
	const test = names.test(slot.testBatchId);
	const why = slot.why as { reasons: readonly string[]; setup: readonly Setup[] };
	return {
		id: slot.id,
		roasterId: slot.roasterId,
		...spanOf(slot.startAt, slot.endAt, zone),
		kind: slot.kind as SlotView['kind'],
		lotCode: lot.code,
		lotName: lot.name,
		productCode: product?.code ?? null,
		productName: product?.name ?? null,
		testNumber: test?.batch.number ?? null,
		testPurpose: test?.batch.purpose ?? null,
		chargeG: slot.chargeG,
		late: slot.endAt > slot.dueAt,
		locked: slot.locked,
		over: slot.endAt <= now,
		canMove: slot.id > 0 && slot.recordedAt === null && slot.startAt >= now,
		note: slot.note,
		recordedFrom:
			slot.recordedAt === null
				? null
				: momentShortWords(momentOf(slot.plannedStartAt ?? slot.startAt, zone)),
		reasons: why.reasons.map((text) => withTestNames(text, names)),
		setup: why.setup
	};
}

/** The planner knows tests by their ids; people know them by lot and number. */
function withTestNames(text: string, names: Names): string {
	return text.replace(/\b(t)est batch (\d+)/gi, (whole, t: string, id: string) => {
		const test = names.test(Number(id));
		return test ? `${t}est ${test.batch.number} of ${test.lotCode}` : whole;
	});
}

function planView(
	plan: WeekPlanRow,
	roasters: readonly Roaster[],
	slots: readonly SlotView[],
	names: Names,
	zone: string,
	acts: Awaited<ReturnType<typeof loadActsAfter>>
): Omit<PlanView, 'undo'> {
	const changes = acts.filter(({ act, detail }) =>
		PLANS_A_WEEK.has(act)
			? (detail as { week: IsoWeek }).week < plan.week
			: !LEAVE_THE_PLAN.has(act) && !isOnAccount(act)
	);
	const last = changes.at(-1);
	const minutes = plan.usage as readonly RoasterMinutes[];
	return {
		at: momentWords(momentOf(plan.plannedAt, zone)),
		by: plan.by,
		changes: changes.length,
		lastChange: last
			? `${last.act} by ${last.by}, ${momentShortWords(momentOf(last.at, zone))}`
			: null,
		unplaced: (plan.unplaced as readonly Unplaced[]).map((one) => unplacedView(one, names, zone)),
		minutes: roasters.flatMap(({ id, code, name }) => {
			const own = minutes.find((m) => m.roasterId === id);
			return own ? [{ ...own, code, name }] : [];
		}),
		late: slots.filter((slot) => slot.late).length,
		cost: plan.cost,
		version: plan.version
	};
}

/** The last act on the plan that stands, unless it was the first plan of the week. */
function undoWords(changes: readonly WeekChange[], zone: string): string | null {
	const last = changes.findLast(({ undoneAt }) => undoneAt === null);
	if (!last?.planBefore) return null;
	return `${last.what} (${last.by}, ${momentShortWords(momentOf(last.at, zone))})`;
}

/** What the search found as slots, after those of the week that are over when it begins. */
function foundSlots({ plan, problem, week }: PlanSearch, kept: readonly Slot[]): Slot[] {
	const fixed = new Map(kept.map((slot) => [`${slot.roasterId}/${slot.startAt}`, slot]));
	const over = kept.filter((slot) => slot.endAt <= problem.fromMs);
	const found = plan.slots.map((planned, i): Slot => {
		const row = slotRow(week, planned);
		const id = planned.locked ? fixed.get(`${row.roasterId}/${row.startAt}`)?.id : undefined;
		return { ...row, id: id ?? -1 - i };
	});
	return [...over, ...found];
}

function foundView(search: PlanSearch, names: Names, zone: string, now: InstantMs): FoundView {
	const { startedAt, by, steps, budget, seed, startCost, cost, bound, plan, failure } = search;
	return {
		...{ startedAt, by, steps, budget, seed, startCost, cost, bound, failure },
		at: momentWords(momentOf(startedAt, zone)),
		from: momentShortWords(momentOf(search.problem.fromMs, zone)),
		state: stateOf(search, now),
		unplaced: plan.unplaced.map((one) => unplacedView(one, names, zone)),
		canKeep: search.problem.fromMs >= now
	};
}

function stateOf(search: PlanSearch, now: InstantMs): FoundView['state'] {
	if (search.failure !== null) return 'broken';
	if (isSearching(search, now)) return search.stopAsked ? 'stopping' : 'searching';
	return search.steps < search.budget ? 'stopped' : 'ended';
}

function unplacedView(one: Unplaced, names: Names, zone: string): UnplacedView {
	return {
		kind: one.kind,
		lotCode: names.lot(one.lotId).code,
		productName: names.product(one.productId)?.name ?? null,
		testNumber: names.test(one.testBatchId)?.batch.number ?? null,
		greenG: one.greenG,
		due: momentShortWords(momentOf(one.dueMs, zone)),
		reasons: one.reason.map((text) => withTestNames(text, names)),
		change: one.wouldFit && withTestNames(one.wouldFit.text, names)
	};
}

async function ordersOf(db: Reader, roastery: Roastery, week: IsoWeek): Promise<OrderView[]> {
	const { site, products, needs, lots } = roastery;
	const [demand, made] = await Promise.all([
		loadDemand(db, week),
		loadProduction(
			db,
			startOfWeek(week, site.timeZone),
			startOfWeek(addWeeks(week, 1), site.timeZone) - 1
		)
	]);
	const factsById = new Map(lots.map((facts) => [facts.lot.id, facts]));
	return products.map((product) => ({
		productCode: product.code,
		productName: product.name,
		roastedG: demand.find((d) => d.productId === product.id && d.week === week)?.roastedG ?? 0,
		madeG: made
			.filter((batch) => batch.productId === product.id)
			.reduce((sum, batch) => sum + batch.outG, 0),
		needs: needs
			.filter((need) => need.productId === product.id && need.week === week)
			.map((need) => needView(need, factsById.get(need.lotId)!))
	}));
}

function needView(
	{ roastedG, greenG, loss }: LotNeed,
	{ lot, standing }: Roastery['lots'][number]
): OrderView['needs'][number] {
	return {
		lotCode: lot.code,
		stage: standing.stage,
		roastedG,
		greenG,
		because: loss.because
	};
}

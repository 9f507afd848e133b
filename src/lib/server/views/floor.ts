import type { Setup } from '#lib/domain/plan/plan.ts';
import { regularEndOf } from '#lib/domain/plan/problem.ts';
import type { Day, InstantMs } from '#lib/domain/quantity/time.ts';
import { addDays, clockOf, dayOf, weekOf } from '#lib/domain/quantity/week.ts';
import { settingTexts } from '#lib/domain/trial/settings.ts';
import type { Reader } from '../db/client.ts';
import { loadProduction, loadSlots, type Slot } from '../store/production.ts';
import { loadRoasters, requireSite, type Roaster } from '../store/site.ts';
import { loadRecipes, loadTests } from '../store/tests.ts';
import { inputTime, momentOf } from './moment.ts';
import { loadWindows } from './planProblem.ts';
import { loadRoastery } from './roastery.ts';
import { namesOf, slotWords } from './week.ts';
import { momentWords, weekdayWords } from './words.ts';

const MS_PER_MIN = 60_000;

/** One slot on the sheet of a roaster's day. */
export interface FloorSlot {
	readonly id: number;
	readonly kind: 'production' | 'test';
	/** `HR-151 for House`. */
	readonly title: string;
	readonly lotCode: string;
	readonly lotName: string;
	readonly testNumber: number | null;
	readonly purpose: string | null;
	readonly chargeG: number;
	/** `10:05`. */
	readonly start: string;
	readonly end: string;
	/** Minutes from where it was planned first; 0 where it is as planned. */
	readonly movedMin: number;
	/** Where it was planned first. */
	readonly planned: string;
	readonly locked: boolean;
	readonly setup: readonly Setup[];
	/** How to roast it, and where that is from; empty where the lot has no recipe on this roaster. */
	readonly settings: readonly { readonly label: string; readonly text: string }[];
	/** `recipe 2` or `settings of the test`. */
	readonly settingsOf: string | null;
	/** What it became; null while it is not recorded. */
	readonly record: {
		readonly outG: number | null;
		readonly note: string;
		readonly href: string;
	} | null;
}

/** The sheet of one roaster's day. */
export interface FloorSheet {
	readonly siteName: string;
	readonly roaster: { readonly code: string; readonly name: string };
	readonly roasters: readonly { readonly code: string; readonly name: string }[];
	readonly day: Day;
	/** `Wed 25 Nov`. */
	readonly label: string;
	readonly today: Day;
	readonly before: Day;
	readonly after: Day;
	readonly week: string;
	/** `07:00 to 15:00`. */
	readonly hours: readonly string[];
	/** When the sheet was made. */
	readonly at: string;
	/** Now, for a time field. */
	readonly now: string;
	/** How long ago the next batch should have started, minutes; 0 when it is in time. */
	readonly behindMin: number;
	/** The first slot that is not recorded. */
	readonly next: FloorSlot | null;
	readonly later: readonly FloorSlot[];
	readonly done: readonly FloorSlot[];
}

/** Where the floor begins: the roaster whose next slot comes first, and today; null without roasters. */
export async function loadFloorToOpen(
	db: Reader,
	now: InstantMs
): Promise<{ readonly roaster: string; readonly day: Day } | null> {
	const { timeZone } = await requireSite(db);
	const day = dayOf(now, timeZone);
	const [roasters, slots] = await Promise.all([loadRoasters(db), loadSlots(db, weekOf(day))]);
	const next = slots
		.filter((one) => one.recordedAt === null && dayOf(one.startAt, timeZone) === day)
		.toSorted((a, b) => a.startAt - b.startAt)[0];
	const roaster = roasters.find(({ id }) => id === next?.roasterId) ?? roasters[0];
	return roaster ? { roaster: roaster.code, day } : null;
}

/** A roaster's day; null where there is no such roaster. */
export async function loadFloorSheet(
	db: Reader,
	now: InstantMs,
	code: string,
	day: Day
): Promise<FloorSheet | null> {
	const roastery = await loadRoastery(db, now);
	const zone = roastery.site.timeZone;
	const week = weekOf(day);
	const [roasters, all, tests, windows] = await Promise.all([
		loadRoasters(db),
		loadSlots(db, week),
		loadTests(db),
		loadWindows(db, week, zone)
	]);
	const roaster = roasters.find((one) => one.code === code);
	if (!roaster) return null;
	const own = all
		.filter((one) => one.roasterId === roaster.id && dayOf(one.startAt, zone) === day)
		.toSorted((a, b) => a.startAt - b.startAt);
	const facts = await loadFacts(db, own);
	const names = namesOf(roastery, tests);
	const shown = own.map((row) => ({ row, view: slotOf(row, roaster, facts, names, zone) }));
	const open = shown.filter(({ row }) => row.recordedAt === null);
	const [first, ...rest] = open;
	return {
		siteName: roastery.site.name,
		roaster: { code: roaster.code, name: roaster.name },
		roasters: roasters.map((one) => ({ code: one.code, name: one.name })),
		...{ day, label: weekdayWords(day), today: dayOf(now, zone), week },
		...{ before: addDays(day, -1), after: addDays(day, 1) },
		hours: windows
			.filter((one) => one.roasterId === roaster.id && dayOf(one.startMs, zone) === day)
			.map((one) => `${clockOf(one.startMs, zone)} to ${clockOf(regularEndOf(one), zone)}`),
		at: momentWords(momentOf(now, zone)),
		now: inputTime(now, zone),
		behindMin: first ? Math.max(0, Math.floor((now - first.row.startAt) / MS_PER_MIN)) : 0,
		next: first?.view ?? null,
		later: rest.map(({ view }) => view),
		done: shown.filter(({ row }) => row.recordedAt !== null).map(({ view }) => view)
	};
}

type Facts = Awaited<ReturnType<typeof loadFacts>>;

async function loadFacts(db: Reader, own: readonly Slot[]) {
	const starts = own.map(({ startAt }) => startAt);
	const [recipes, made] = await Promise.all([
		loadRecipes(db),
		own.length > 0 ? loadProduction(db, Math.min(...starts), Math.max(...starts)) : []
	]);
	return { recipes, made };
}

function slotOf(
	row: Slot,
	roaster: Roaster,
	{ recipes, made }: Facts,
	names: ReturnType<typeof namesOf>,
	zone: string
): FloorSlot {
	const lot = names.lot(row.lotId);
	const test = names.test(row.testBatchId);
	const recipe = recipes
		.filter((one) => one.lotId === row.lotId && one.roasterId === roaster.id)
		.toSorted((a, b) => b.version - a.version)[0];
	const settings = test?.batch.settings ?? (row.kind === 'test' ? undefined : recipe?.settings);
	const plannedMs = row.plannedStartAt ?? row.startAt;
	const isTest = row.kind === 'test';
	const outG = isTest
		? (test?.roast?.outG ?? null)
		: (made.find(({ id }) => id === row.productionId)?.outG ?? null);
	return {
		id: row.id,
		kind: isTest ? 'test' : 'production',
		title: slotWords(row, names),
		...{ lotCode: lot.code, lotName: lot.name, chargeG: row.chargeG, locked: row.locked },
		testNumber: test?.batch.number ?? null,
		purpose: test?.batch.purpose ?? null,
		start: clockOf(row.startAt, zone),
		end: clockOf(row.endAt, zone),
		planned: clockOf(plannedMs, zone),
		movedMin: Math.round((row.startAt - plannedMs) / MS_PER_MIN),
		setup: (row.why as { readonly setup: readonly Setup[] }).setup,
		settings: settings ? settingTexts(settings).filter(({ label }) => label !== 'Charge') : [],
		settingsOf: !settings ? null : isTest ? 'settings of the test' : `recipe ${recipe!.version}`,
		record:
			row.recordedAt === null
				? null
				: {
						outG,
						note: isTest ? (test?.roast?.note ?? '') : row.note,
						href: isTest ? `/tests/${lot.code}/${test?.batch.number ?? ''}` : `/lots/${lot.code}`
					}
	};
}

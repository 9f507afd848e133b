import { and, asc, eq, isNull } from 'drizzle-orm';
import { USUAL_SEPARATIONS } from '#lib/domain/plan/changeover.ts';
import type { DayHours, UsualWeek } from '#lib/domain/plan/hours.ts';
import { USUAL_WEIGHTS } from '#lib/domain/plan/objective.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { Reader } from '../db/client.ts';
import {
	closure,
	dayHours,
	flavouredProduct,
	planHours,
	planSearch,
	planSettings,
	roasterBar
} from '../db/schema.ts';
import { loadShifts } from './site.ts';

export type PlanSettings = Omit<typeof planSettings.$inferSelect, 'id'>;
export type PlanHours = typeof planHours.$inferSelect;
export type ClosureRow = typeof closure.$inferSelect;
export type DayHoursRow = typeof dayHours.$inferSelect;
export type RoasterBar = typeof roasterBar.$inferSelect;
export type PlanSearch = typeof planSearch.$inferSelect;

/** What planning goes by; the usual, as version 0, before it was ever changed. */
export async function loadPlanSettings(db: Reader): Promise<PlanSettings> {
	const [found] = await db.select().from(planSettings);
	return (
		found ?? {
			weights: USUAL_WEIGHTS,
			separations: USUAL_SEPARATIONS,
			overtimeMin: 0,
			version: 0
		}
	);
}

/** Breaks and profiling hours, by weekday and start. */
export async function loadPlanHours(db: Reader): Promise<PlanHours[]> {
	return db.select().from(planHours).orderBy(asc(planHours.weekday), asc(planHours.startMin));
}

/** Every closure, by day. */
export async function loadClosures(db: Reader): Promise<ClosureRow[]> {
	return db.select().from(closure).orderBy(asc(closure.fromDay), asc(closure.id));
}

/** The hours of single days, by day and start. */
export async function loadDayHours(db: Reader): Promise<DayHoursRow[]> {
	return db
		.select()
		.from(dayHours)
		.orderBy(asc(dayHours.day), asc(dayHours.startMin), asc(dayHours.id));
}

/** What may not run where. */
export async function loadRoasterBars(db: Reader): Promise<RoasterBar[]> {
	return db.select().from(roasterBar);
}

/** Ids of the products that carry a flavour over. */
export async function loadFlavoured(db: Reader): Promise<ReadonlySet<number>> {
	return new Set((await db.select().from(flavouredProduct)).map(({ productId }) => productId));
}

/** Shifts, breaks, closures, profiling hours, overtime and what single days have, together. */
export async function loadUsualWeek(db: Reader): Promise<UsualWeek> {
	const [shifts, hours, closures, { overtimeMin }, days] = await Promise.all([
		loadShifts(db),
		loadPlanHours(db),
		loadClosures(db),
		loadPlanSettings(db),
		loadDayHours(db)
	]);
	return {
		shifts,
		breaks: hours.filter(({ kind }) => kind === 'break'),
		profiling: hours.filter(({ kind }) => kind === 'profiling'),
		closures,
		overtimeMin,
		...(days.length > 0 ? { days: days.map(dayHoursOf) } : {})
	};
}

function dayHoursOf({ kind, roasterId, day, startMin, endMin }: DayHoursRow): DayHours {
	return { kind: kind as DayHours['kind'], roasterId, day, startMin, endMin };
}

/** The search for a better plan of a week, null when there is none. */
export async function loadPlanSearch(db: Reader, week: string): Promise<PlanSearch | null> {
	return (await db.select().from(planSearch).where(eq(planSearch.week, week)))[0] ?? null;
}

/** Searches that have not ended, and that nobody asked to. */
export async function loadUnendedSearches(
	db: Reader
): Promise<Pick<PlanSearch, 'week' | 'seenAt' | 'finishedAt'>[]> {
	const { week, seenAt, finishedAt } = planSearch;
	return db
		.select({ week, seenAt, finishedAt })
		.from(planSearch)
		.where(and(isNull(finishedAt), eq(planSearch.stopAsked, false)));
}

/** A worker that has not written for so long is gone. */
export const GONE_AFTER_MS = 60_000;

/** Whether a worker is still at it. */
export function isSearching(
	search: Pick<PlanSearch, 'seenAt' | 'finishedAt'>,
	now: InstantMs
): boolean {
	return search.finishedAt === null && now - search.seenAt < GONE_AFTER_MS;
}

import { and, asc, eq, gte, isNull, sql } from 'drizzle-orm';
import type { Reader } from '../db/client.ts';
import {
	calendarFeed,
	cuppingSession,
	roaster,
	sessionCup,
	sessionSheet,
	user,
	weekPlan
} from '../db/schema.ts';

export type CalendarFeed = typeof calendarFeed.$inferSelect;
export type CuppingSessionRow = typeof cuppingSession.$inferSelect;

/** The live feed of a secret's hash, with the name of its person; null once it or the account has ended. */
export async function findFeed(
	db: Reader,
	hash: string
): Promise<{ readonly feed: CalendarFeed; readonly person: string } | null> {
	const rows = await db
		.select({ feed: calendarFeed, person: user.name })
		.from(calendarFeed)
		.innerJoin(user, eq(user.id, calendarFeed.userId))
		.where(and(eq(calendarFeed.hash, hash), isNull(calendarFeed.endedAt), isNull(user.endedAt)));
	return rows[0] ?? null;
}

/** A person's live feeds, oldest first. */
export async function loadFeeds(db: Reader, userId: number) {
	return db
		.select({ id: calendarFeed.id, createdAt: calendarFeed.createdAt, roaster: roaster.name })
		.from(calendarFeed)
		.leftJoin(roaster, eq(roaster.id, calendarFeed.roasterId))
		.where(and(eq(calendarFeed.userId, userId), isNull(calendarFeed.endedAt)))
		.orderBy(asc(calendarFeed.createdAt));
}

/** Cupping sessions since an instant that a person opened or has a sheet in. */
export async function loadSessionsOf(
	db: Reader,
	person: string,
	fromMs: number
): Promise<CuppingSessionRow[]> {
	const [sessions, sheets] = await Promise.all([
		db
			.select()
			.from(cuppingSession)
			.where(gte(cuppingSession.openedAt, fromMs))
			.orderBy(asc(cuppingSession.openedAt)),
		db
			.select({ sessionId: sessionCup.sessionId })
			.from(sessionSheet)
			.innerJoin(sessionCup, eq(sessionCup.id, sessionSheet.cupId))
			.where(eq(sessionSheet.by, person))
	]);
	const cupped = new Set(sheets.map(({ sessionId }) => sessionId));
	return sessions.filter(({ id, openedBy }) => openedBy === person || cupped.has(id));
}

/** How many acts there have been on the plans of all weeks; goes up with each of them. */
export async function countPlanActs(db: Reader): Promise<number> {
	const rows = await db
		.select({ total: sql<number>`coalesce(sum(${weekPlan.version}), 0)` })
		.from(weekPlan);
	return rows[0]?.total ?? 0;
}

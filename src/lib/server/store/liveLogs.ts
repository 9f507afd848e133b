import { asc, count, eq, isNull, sql } from 'drizzle-orm';
import type { Reader } from '../db/client.ts';
import { liveLog, liveLogChunk } from '../db/schema.ts';

/** A log on its way, with how much of it has come. */
export type LiveLog = typeof liveLog.$inferSelect & {
	/** Chunks that have come: the number of the next one. */
	readonly chunks: number;
	readonly bytes: number;
};

/** One live log, or null when there is none of that id. */
export async function findLiveLog(db: Reader, id: string): Promise<LiveLog | null> {
	const [rows, sums] = await Promise.all([
		db.select().from(liveLog).where(eq(liveLog.id, id)),
		db
			.select({
				chunks: count(),
				bytes: sql<number>`coalesce(sum(length(${liveLogChunk.bytes})), 0)`
			})
			.from(liveLogChunk)
			.where(eq(liveLogChunk.liveLogId, id))
	]);
	return rows[0] ? { ...rows[0], ...sums[0]! } : null;
}

/** The chunks of a live log in their order. */
export async function loadLiveChunks(db: Reader, id: string) {
	return db
		.select()
		.from(liveLogChunk)
		.where(eq(liveLogChunk.liveLogId, id))
		.orderBy(asc(liveLogChunk.number));
}

/** How many live logs are not finished. */
export async function countOpenLiveLogs(db: Reader): Promise<number> {
	const rows = await db.select({ n: count() }).from(liveLog).where(isNull(liveLog.finishedAt));
	return rows[0]!.n;
}

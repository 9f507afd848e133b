import type { InstantMs } from '#lib/domain/quantity/time.ts';

const DAY_MS = 24 * 60 * 60_000;

/** A session ends so long after its last use: over a weekend, not over a holiday. */
export const SESSION_IDLE_MS = 4 * DAY_MS;
/** And so long after its start, used or not. */
export const SESSION_LONGEST_MS = 30 * DAY_MS;
/** The last use is written so often at most. */
export const SEEN_EVERY_MS = 60_000;
export const INVITATION_MS = 7 * DAY_MS;
/** Choices for the life of a token, days. */
export const TOKEN_DAYS = [30, 90, 365] as const;
export const dayMs = DAY_MS;

interface Lived {
	readonly createdAt: InstantMs;
	readonly seenAt: InstantMs;
	readonly endedAt: InstantMs | null;
}

/** When a session ends by itself if it isn't used again. */
export function sessionEndsAt({ createdAt, seenAt }: Lived): InstantMs {
	return Math.min(seenAt + SESSION_IDLE_MS, createdAt + SESSION_LONGEST_MS);
}

/** Whether a session still counts. */
export function isLive(session: Lived, now: InstantMs): boolean {
	return session.endedAt === null && now < sessionEndsAt(session);
}

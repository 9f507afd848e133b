import { and, eq, isNull } from 'drizzle-orm';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { hashOf, newSecret } from '../auth/secret.ts';
import { calendarFeed } from '../db/schema.ts';
import { loadRoasters } from '../store/site.ts';
import { note, type Deed } from './act.ts';

/**
 * A calendar at an address that nobody can guess. The secret is given back this once; its hash is kept.
 * @param roasterId null for the actor's own tests and cuppings
 */
export async function makeCalendar(
	deed: Deed,
	roasterId: number | null
): Promise<Outcome<{ secret: string }>> {
	const { userId } = deed.actor;
	if (userId === null) return bad({ path: 'account', message: 'Sign in to have a calendar.' });
	const roaster = (await loadRoasters(deed.tx)).find(({ id }) => id === roasterId);
	if (roasterId !== null && !roaster)
		return bad({ path: 'of', message: 'There is no such roaster.' });
	const secret = newSecret();
	await deed.tx
		.insert(calendarFeed)
		.values({ hash: hashOf(secret), userId, roasterId, createdAt: deed.now });
	await note(deed, 'make own calendar', null, { of: roaster?.name ?? 'own tests and cuppings' });
	return good({ secret });
}

/** Ends a calendar of the actor's own: its address answers no more. */
export async function endCalendar(deed: Deed, id: number): Promise<Outcome<null>> {
	const { userId } = deed.actor;
	if (userId === null) return bad({ path: 'account', message: 'Sign in to end a calendar.' });
	const ended = await deed.tx
		.update(calendarFeed)
		.set({ endedAt: deed.now })
		.where(
			and(eq(calendarFeed.id, id), eq(calendarFeed.userId, userId), isNull(calendarFeed.endedAt))
		)
		.returning({ id: calendarFeed.id });
	if (ended.length === 0) return bad({ path: 'calendar', message: 'There is no such calendar.' });
	await note(deed, 'end own calendar', null, { calendar: id });
	return good(null);
}

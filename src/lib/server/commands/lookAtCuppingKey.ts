import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { sessionKeySeen } from '../db/schema.ts';
import { findSession } from '../store/cuppings.ts';
import { note, type Deed } from './act.ts';

/**
 * Lets one person see what an open session's codes stand for, to set the table. It is kept: sheets of that
 * person are not blind and don't count for the panel's agreement.
 */
export async function lookAtCuppingKey(deed: Deed, sessionId: number): Promise<Outcome<null>> {
	const session = await findSession(deed.tx, sessionId);
	if (!session) return bad({ path: 'session', message: 'There is no such session.' });
	if (session.closedAt !== null) return good(null);
	await deed.tx
		.insert(sessionKeySeen)
		.values({ sessionId, by: deed.by, at: deed.now })
		.onConflictDoNothing();
	await note(deed, 'look at a cupping key', null, { sessionId, name: session.name });
	return good(null);
}

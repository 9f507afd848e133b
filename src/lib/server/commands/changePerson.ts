import { and, eq, isNull } from 'drizzle-orm';
import { ROLES } from '#lib/domain/access/role.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { apiToken, session, user } from '../db/schema.ts';
import { findUserById, loadUsers, type User } from '../store/people.ts';
import { note, type Deed } from './act.ts';
import { byWhom } from './versions.ts';

/** There is always an owner who can sign in. */
async function lastOwner(deed: Deed, person: User): Promise<boolean> {
	const owners = (await loadUsers(deed.tx)).filter(
		({ role, endedAt }) => role === 'owner' && endedAt === null
	);
	return owners.length === 1 && owners[0]!.id === person.id;
}

const NO_PERSON: Problem = { path: 'person', message: 'There is no such person.' };
const LAST_OWNER: Problem = {
	path: 'person',
	message: 'This is the only owner; make somebody else an owner first.'
};

/**
 * Gives a person another role; it counts from the next click on. Whoever looked at another role than the one
 * it is now (`seen`) is told who changed it.
 */
export async function changeRole(
	deed: Deed,
	input: { readonly userId: number; readonly role: string; readonly seen?: string }
): Promise<Outcome<null>> {
	const person = await findUserById(deed.tx, input.userId);
	const role = ROLES.find((each) => each === input.role);
	if (!person) return bad(NO_PERSON);
	if (!role)
		return bad({
			path: 'role',
			message: `Found '${input.role}', expected one of ${ROLES.join(', ')}.`
		});
	if (role === person.role) return good(null);
	if (input.seen !== undefined && input.seen !== person.role) {
		const whom = await byWhom(deed, { acts: ['change role'], detail: { name: person.name } });
		const message = `The role of ${person.name} was changed ${whom} while you were looking: it is ${person.role} now. You chose ${role}; choose it again to replace it.`;
		return bad({ path: 'role', message });
	}
	if (await lastOwner(deed, person)) return bad(LAST_OWNER);
	await deed.tx.update(user).set({ role }).where(eq(user.id, person.id));
	const { name } = person;
	await note(deed, 'change role', null, { name, before: { role: person.role }, after: { role } });
	return good(null);
}

/** Ends an account with its sessions and tokens. Its name stays on what it recorded. */
export async function endAccount(deed: Deed, userId: number): Promise<Outcome<null>> {
	const person = await findUserById(deed.tx, userId);
	if (!person) return bad(NO_PERSON);
	if (await lastOwner(deed, person)) return bad(LAST_OWNER);
	const ended = { endedAt: deed.now };
	await deed.tx.update(user).set(ended).where(eq(user.id, userId));
	await endSessions(deed, userId);
	await deed.tx
		.update(apiToken)
		.set(ended)
		.where(and(eq(apiToken.userId, userId), isNull(apiToken.endedAt)));
	await note(deed, 'end account', null, { name: person.name });
	return good(null);
}

/** Lets an ended account sign in again, with the password it had. */
export async function restoreAccount(deed: Deed, userId: number): Promise<Outcome<null>> {
	const person = await findUserById(deed.tx, userId);
	if (!person) return bad(NO_PERSON);
	await deed.tx.update(user).set({ endedAt: null }).where(eq(user.id, userId));
	await note(deed, 'restore account', null, { name: person.name });
	return good(null);
}

/** Signs a person out everywhere. */
export async function endSessionsOf(deed: Deed, userId: number): Promise<Outcome<null>> {
	const person = await findUserById(deed.tx, userId);
	if (!person) return bad(NO_PERSON);
	const ended = await endSessions(deed, userId);
	await note(deed, 'end sessions', null, { name: person.name, sessions: ended });
	return good(null);
}

/** Ends one token of anybody. */
export async function endAnyToken(deed: Deed, tokenId: number): Promise<Outcome<null>> {
	const rows = await deed.tx
		.update(apiToken)
		.set({ endedAt: deed.now })
		.where(and(eq(apiToken.id, tokenId), isNull(apiToken.endedAt)))
		.returning({ name: apiToken.name, userId: apiToken.userId });
	if (!rows[0]) return bad({ path: 'token', message: 'The token has ended already.' });
	const owner = await findUserById(deed.tx, rows[0].userId);
	await note(deed, 'end token', null, { token: rows[0].name, name: owner?.name ?? '' });
	return good(null);
}

async function endSessions(deed: Deed, userId: number): Promise<number> {
	const rows = await deed.tx
		.update(session)
		.set({ endedAt: deed.now })
		.where(and(eq(session.userId, userId), isNull(session.endedAt)))
		.returning({ id: session.id });
	return rows.length;
}

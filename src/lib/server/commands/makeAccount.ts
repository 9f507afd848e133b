import { and, eq, isNull } from 'drizzle-orm';
import type { Role } from '#lib/domain/access/role.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { checkNewPassword, hashPassword } from '../auth/password.ts';
import { hashOf } from '../auth/secret.ts';
import type { Database, Tx } from '../db/client.ts';
import { invitation, passkey, recoveryCode, session, user } from '../db/schema.ts';
import {
	findInvitation,
	findUser,
	findUserById,
	hasUsers,
	loginOf,
	type Invitation
} from '../store/people.ts';
import { note, perform, type Deed } from './act.ts';
import { startSession } from './signIn.ts';

/** A person's own part of an account. */
export interface AccountInput {
	readonly login: string;
	/** The name that records bear. */
	readonly name: string;
	readonly password: string;
	readonly browser: string;
}

interface Moment {
	readonly database: Database;
	readonly now: InstantMs;
}

/** The account of the first run: the owner's. Refused once anybody has an account. */
export async function setUpOwner(
	at: Moment,
	input: AccountInput
): Promise<Outcome<{ secret: string }>> {
	const account = await checkAccount(input);
	if (!account.ok) return account;
	const actor = { userId: null, name: account.value.name, role: 'owner' } as const;
	return perform({ ...at, actor }, async (deed) => {
		if (await hasUsers(deed.tx))
			return bad({ path: 'login', message: 'The owner is set up already; sign in instead.' });
		const userId = await insertUser(deed, account.value, 'owner');
		const { login, name } = account.value;
		await note({ ...deed, actor: { ...actor, userId } }, 'set up owner', null, { login, name });
		return good({ secret: await startSession(deed, userId, input.browser) });
	});
}

/** Why an invitation can't be used; the same for one that never was. */
export function isOpenInvitation(
	found: Invitation | null,
	now: InstantMs
): found is Invitation & { usedAt: null } {
	return found !== null && !found.usedAt && !found.withdrawnAt && now < found.expiresAt;
}

/**
 * Makes the account that an invitation is for, or lets its person back in with a new password, without a
 * second factor and with every other session ended. The link works once.
 * @param secret the link's
 */
export async function acceptInvitation(
	at: Moment,
	secret: string,
	input: AccountInput
): Promise<Outcome<{ secret: string }>> {
	const hash = hashOf(secret);
	const seen = await findInvitation(at.database.orm, hash);
	if (!isOpenInvitation(seen, at.now)) return bad(SPENT);
	const known = seen.userId === null ? null : await findUserById(at.database.orm, seen.userId);
	const account = await checkAccount(known ? { ...input, ...loginAndName(known) } : input);
	if (!account.ok) return account;
	const { role } = known ?? seen;
	return perform(
		{ ...at, actor: { userId: seen.userId, name: account.value.name, role } },
		async (deed) => {
			if (!isOpenInvitation(await findInvitation(deed.tx, hash), deed.now)) return bad(SPENT);
			const { login, name, password } = account.value;
			if (!known && (await findUser(deed.tx, login)))
				return bad({ path: 'login', message: `Found '${login}', which is taken; choose another.` });
			await deed.tx.update(invitation).set({ usedAt: deed.now }).where(eq(invitation.id, seen.id));
			const userId = known ? known.id : await insertUser(deed, account.value, role);
			if (known) await letBackIn(deed.tx, known.id, password, deed.now);
			const actor = { ...deed.actor, userId };
			await note({ ...deed, actor }, 'accept invitation', null, { login, name, role });
			return good({ secret: await startSession(deed, userId, input.browser) });
		}
	);
}

const SPENT: Problem = {
	path: 'invitation',
	message: 'This link was used, taken back or has run out. Ask the owner for another.'
};

const loginAndName = ({ login, name }: { login: string; name: string }) => ({ login, name });

async function letBackIn(tx: Tx, id: number, password: string, now: InstantMs): Promise<void> {
	const fresh = { password, totpSecret: null, totpPending: null, totpStep: null, endedAt: null };
	await tx.update(user).set(fresh).where(eq(user.id, id));
	await tx.delete(recoveryCode).where(eq(recoveryCode.userId, id));
	await tx
		.update(passkey)
		.set({ endedAt: now })
		.where(and(eq(passkey.userId, id), isNull(passkey.endedAt)));
	await tx.update(session).set({ endedAt: now }).where(eq(session.userId, id));
}

interface Account {
	readonly login: string;
	readonly name: string;
	/** Hashed. */
	readonly password: string;
}

/** Checks what was typed, all of it, and hashes the password, which takes its time: not in a transaction. */
async function checkAccount(input: AccountInput): Promise<Outcome<Account>> {
	const login = loginOf(input.login);
	const name = input.name.trim();
	const problems: Problem[] = [];
	if (!/^[^\s\p{C}]{2,60}$/u.test(login))
		problems.push({
			path: 'login',
			message: `Found '${login}', expected 2 to 60 characters without spaces, such as an e-mail address.`
		});
	if (!/^[^\p{C}]{1,60}$/u.test(name))
		problems.push({ path: 'name', message: 'Expected a name of 1 to 60 characters.' });
	const password = checkNewPassword(input.password, login);
	if (!password.ok) problems.push(...password.problems);
	if (problems.length > 0) return bad(...problems);
	return good({ login, name, password: await hashPassword(input.password) });
}

async function insertUser(deed: Deed, account: Account, role: Role): Promise<number> {
	const row = { ...account, role, createdAt: deed.now };
	return (await deed.tx.insert(user).values(row).returning({ id: user.id }))[0]!.id;
}

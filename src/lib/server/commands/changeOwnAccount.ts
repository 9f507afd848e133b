import { and, eq, isNull, ne } from 'drizzle-orm';
import { SCOPES } from '#lib/domain/access/role.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { dayMs, TOKEN_DAYS } from '../auth/lifetimes.ts';
import { checkNewPassword, hashPassword, isPassword } from '../auth/password.ts';
import {
	newRecoveryCodes,
	newTotpSecret,
	plainRecoveryCode,
	stepOfCode
} from '../auth/secondFactor.ts';
import { hashOf, newSecret } from '../auth/secret.ts';
import { apiToken, recoveryCode, session, user } from '../db/schema.ts';
import { findUserById, type User } from '../store/people.ts';
import { note, perform, type Act, type Deed } from './act.ts';

/** What a person changes about the own account. The system has none, so each needs a signed-in actor. */
export async function ownUser(deed: Deed): Promise<User> {
	const { userId, name } = deed.actor;
	const found = userId === null ? null : await findUserById(deed.tx, userId);
	if (!found) throw new Error(`${name} has no account.`);
	return found;
}

/** Whether the password typed is the actor's. Takes its time: not in a transaction. */
export async function isOwnPassword({ database, actor }: Act, password: string): Promise<boolean> {
	const found = actor.userId === null ? null : await findUserById(database.orm, actor.userId);
	return isPassword(password.slice(0, 1000), found?.password ?? null);
}

export const WRONG_PASSWORD = { path: 'password_now', message: 'This is not your password.' };

/** Sets another password and ends every other session. */
export async function changePassword(
	act: Act,
	input: { readonly now: string; readonly next: string; readonly sessionId: number | null }
): Promise<Outcome<null>> {
	if (!(await isOwnPassword(act, input.now))) return bad(WRONG_PASSWORD);
	const checked = checkNewPassword(input.next, '');
	if (!checked.ok) return checked;
	const password = await hashPassword(input.next);
	return perform(act, async (deed) => {
		const { id, login } = await ownUser(deed);
		const named = checkNewPassword(input.next, login);
		if (!named.ok) return named;
		await deed.tx.update(user).set({ password }).where(eq(user.id, id));
		const kept = input.sessionId === null ? undefined : ne(session.id, input.sessionId);
		await deed.tx
			.update(session)
			.set({ endedAt: deed.now })
			.where(and(eq(session.userId, id), isNull(session.endedAt), kept));
		await note(deed, 'change own password', null, {});
		return good(null);
	});
}

/** Makes a secret for a second factor; it counts once a code proves that the app has it. */
export async function beginSecondFactor(
	act: Act,
	passwordNow: string
): Promise<Outcome<{ secret: string }>> {
	if (!(await isOwnPassword(act, passwordNow))) return bad(WRONG_PASSWORD);
	return perform(act, async (deed) => {
		const { id } = await ownUser(deed);
		const secret = newTotpSecret();
		await deed.tx.update(user).set({ totpPending: secret }).where(eq(user.id, id));
		await note(deed, 'set up own second factor', null, { state: 'begun' });
		return good({ secret });
	});
}

/** Proves the second factor. @returns recovery codes, which are shown once */
export async function proveSecondFactor(
	deed: Deed,
	code: string
): Promise<Outcome<{ codes: readonly string[] }>> {
	const { id, totpPending } = await ownUser(deed);
	if (totpPending === null)
		return bad({ path: 'code', message: 'Ask for a key first, then type a code that it makes.' });
	const totpStep = stepOfCode(totpPending, code, deed.now, null);
	if (totpStep === null)
		return bad({
			path: 'code',
			message: 'This is not the code of now. Look at the clock of the telephone, then try the next.'
		});
	await deed.tx
		.update(user)
		.set({ totpSecret: totpPending, totpPending: null, totpStep })
		.where(eq(user.id, id));
	const codes = newRecoveryCodes();
	await deed.tx.delete(recoveryCode).where(eq(recoveryCode.userId, id));
	await deed.tx
		.insert(recoveryCode)
		.values(codes.map((each) => ({ userId: id, hash: hashOf(plainRecoveryCode(each)) })));
	await note(deed, 'set up own second factor', null, { state: 'in use' });
	return good({ codes });
}

/** Does without the second factor again. */
export async function removeSecondFactor(act: Act, passwordNow: string): Promise<Outcome<null>> {
	if (!(await isOwnPassword(act, passwordNow))) return bad(WRONG_PASSWORD);
	return perform(act, async (deed) => {
		const { id } = await ownUser(deed);
		const none = { totpSecret: null, totpPending: null, totpStep: null };
		await deed.tx.update(user).set(none).where(eq(user.id, id));
		await deed.tx.delete(recoveryCode).where(eq(recoveryCode.userId, id));
		await note(deed, 'remove own second factor', null, {});
		return good(null);
	});
}

/** Ends one session of the actor's own. */
export async function endOwnSession(deed: Deed, sessionId: number): Promise<Outcome<null>> {
	const { id } = await ownUser(deed);
	const rows = await deed.tx
		.update(session)
		.set({ endedAt: deed.now })
		.where(and(eq(session.id, sessionId), eq(session.userId, id), isNull(session.endedAt)))
		.returning({ id: session.id });
	if (!rows[0]) return bad({ path: 'session', message: 'The session has ended already.' });
	await note(deed, 'end own session', null, {});
	return good(null);
}

/** Makes a token for a program. @returns its secret, which is shown once */
export async function makeToken(
	deed: Deed,
	input: { readonly name: string; readonly scope: string; readonly days: number }
): Promise<Outcome<{ secret: string }>> {
	const name = input.name.trim();
	const scope = SCOPES.find((each) => each === input.scope);
	const { id } = await ownUser(deed);
	if (name === '' || name.length > 60)
		return bad({ path: 'token_name', message: 'Expected what it is for, 1 to 60 characters.' });
	if (!scope)
		return bad({
			path: 'scope',
			message: `Found '${input.scope}', expected one of ${SCOPES.join(', ')}.`
		});
	if (!TOKEN_DAYS.some((days) => days === input.days))
		return bad({ path: 'days', message: `Expected ${TOKEN_DAYS.join(', ')} days.` });
	const secret = `${TOKEN_MARK}${newSecret()}`;
	const life = { createdAt: deed.now, expiresAt: deed.now + input.days * dayMs };
	await deed.tx.insert(apiToken).values({ hash: hashOf(secret), userId: id, name, scope, ...life });
	await note(deed, 'make own token', null, { token: name, scope, days: input.days });
	return good({ secret });
}

/** What a token begins with, so that it is known where it turns up by mistake. */
const TOKEN_MARK = 'trierbook_';

/** Ends one token of the actor's own. */
export async function endOwnToken(deed: Deed, tokenId: number): Promise<Outcome<null>> {
	const { id } = await ownUser(deed);
	const rows = await deed.tx
		.update(apiToken)
		.set({ endedAt: deed.now })
		.where(and(eq(apiToken.id, tokenId), eq(apiToken.userId, id), isNull(apiToken.endedAt)))
		.returning({ name: apiToken.name });
	if (!rows[0]) return bad({ path: 'token', message: 'The token has ended already.' });
	await note(deed, 'end own token', null, { token: rows[0].name });
	return good(null);
}

import { and, eq, isNull, lt } from 'drizzle-orm';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { isPassword } from '../auth/password.ts';
import { plainRecoveryCode, stepOfCode } from '../auth/secondFactor.ts';
import { hashOf, newSecret } from '../auth/secret.ts';
import { OF_ACCOUNT, OF_ADDRESS, REMEMBERED_MS, waitMs } from '../auth/throttle.ts';
import type { Database, Tx } from '../db/client.ts';
import { failedSignIn, recoveryCode, session, user } from '../db/schema.ts';
import { findUser, findUserById, loadFailures, loginOf, type User } from '../store/people.ts';
import { note, perform, type Act, type Deed } from './act.ts';

/**
 * Signing in. Rules:
 * 1. Unknown name, wrong password, wrong code and ended account get one answer, after the same work.
 * 2. A try is written down before it is looked at, so that many at once are counted too; a good one
 *    takes back those of its account.
 * 3. A code of the second factor, or a recovery code, is taken once.
 */
export interface SignInInput {
	readonly login: string;
	readonly password: string;
	/** Of the second factor, or a recovery code; empty without one. */
	readonly code: string;
	/** Where the try comes from. */
	readonly address: string;
	/** What the browser says of itself. */
	readonly browser: string;
}

/** @returns the secret that the session's cookie holds */
export async function signIn(
	at: { readonly database: Database; readonly now: InstantMs },
	input: SignInInput
): Promise<Outcome<{ secret: string }>> {
	const login = loginOf(input.login).slice(0, 200);
	const waits = await countTry(at, login, input.address);
	if (waits > 0) return bad({ path: 'login', message: waitText(waits) });
	const found = await findUser(at.database.orm, login);
	const isRight = await isPassword(input.password.slice(0, 1000), found?.password ?? null);
	if (!found || !isRight || found.endedAt !== null) return refused();
	const { id: userId, name, role } = found;
	return perform({ ...at, actor: { userId, name, role } }, async (deed) => {
		const person = await findUserById(deed.tx, userId);
		// The password may have been changed while this one was checked.
		if (person?.password !== found.password || person.endedAt !== null) return refused();
		const factor = await secondFactor(deed, person, input.code);
		if (!factor) return refused();
		await deed.tx.delete(failedSignIn).where(eq(failedSignIn.login, login));
		const secret = await startSession(deed, userId, input.browser);
		await note(deed, 'sign in', null, { secondFactor: factor, address: input.address });
		return good({ secret });
	});
}

function refused(): Outcome<never> {
	return bad({
		path: 'login',
		message: 'The name, the password or the code is not right. Nothing says which, on purpose.'
	});
}

/** When the next try is looked at, for a person. */
export function waitText(ms: number): string {
	const seconds = Math.ceil(ms / 1000);
	const time = seconds < 90 ? `${seconds} seconds` : `${Math.ceil(seconds / 60)} minutes`;
	return `Too many tries went wrong. The next is looked at in ${time}; nobody is locked out for good.`;
}

/** Writes a try down, unless it has to wait: then says how long, ms. */
export function countTry(
	{ database, now }: { readonly database: Database; readonly now: InstantMs },
	login: string,
	address: string
): Promise<number> {
	return database.write(async (tx) => {
		await tx.delete(failedSignIn).where(lt(failedSignIn.at, now - REMEMBERED_MS));
		const failed = await loadFailures(tx, login, address, now - REMEMBERED_MS);
		const waits = Math.max(
			waitMs(failed.ofLogin, now, OF_ACCOUNT),
			waitMs(failed.ofAddress, now, OF_ADDRESS)
		);
		if (waits === 0) await tx.insert(failedSignIn).values({ at: now, login, address });
		return waits;
	});
}

/** What stood for the second factor, or null where it was asked for and is not right. */
async function secondFactor(
	deed: Deed,
	{ id, totpSecret, totpStep }: User,
	code: string
): Promise<'none' | 'code' | 'recovery code' | null> {
	if (totpSecret === null) return 'none';
	const step = stepOfCode(totpSecret, code, deed.now, totpStep);
	if (step !== null) {
		await deed.tx.update(user).set({ totpStep: step }).where(eq(user.id, id));
		return 'code';
	}
	return (await takeRecoveryCode(deed, id, code)) ? 'recovery code' : null;
}

async function takeRecoveryCode(deed: Deed, userId: number, code: string): Promise<boolean> {
	const hash = hashOf(plainRecoveryCode(code));
	const taken = await deed.tx
		.update(recoveryCode)
		.set({ usedAt: deed.now })
		.where(
			and(eq(recoveryCode.userId, userId), eq(recoveryCode.hash, hash), isNull(recoveryCode.usedAt))
		)
		.returning({ id: recoveryCode.id });
	return taken.length > 0;
}

/** Starts a session of somebody who proved who they are. @returns the secret for the cookie */
export async function startSession(
	{ tx, now }: { readonly tx: Tx; readonly now: InstantMs },
	userId: number,
	browser: string
): Promise<string> {
	const secret = newSecret();
	const row = { userId, createdAt: now, seenAt: now, browser: browser.slice(0, 200) };
	await tx.insert(session).values({ ...row, hash: hashOf(secret) });
	return secret;
}

/** Ends the session that asks for it. */
export function signOut(act: Act, sessionId: number): Promise<Outcome<null>> {
	return perform(act, async (deed) => {
		await deed.tx.update(session).set({ endedAt: deed.now }).where(eq(session.id, sessionId));
		await note(deed, 'sign out', null, {});
		return good(null);
	});
}

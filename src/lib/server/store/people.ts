import { and, asc, count, desc, eq, gt, isNull, or } from 'drizzle-orm';
import type { Reader } from '../db/client.ts';
import {
	apiToken,
	failedSignIn,
	invitation,
	passkey,
	recoveryCode,
	session,
	user
} from '../db/schema.ts';

export type User = typeof user.$inferSelect;
export type Session = typeof session.$inferSelect;
export type Invitation = typeof invitation.$inferSelect;
export type ApiToken = typeof apiToken.$inferSelect;
export type Passkey = typeof passkey.$inferSelect;

/** Whether anybody has an account: before that, the first run makes the owner. */
export async function hasUsers(db: Reader): Promise<boolean> {
	return (await db.select({ id: user.id }).from(user).limit(1)).length > 0;
}

/** Everybody, in the order of their names. */
export async function loadUsers(db: Reader): Promise<User[]> {
	return db.select().from(user).orderBy(asc(user.name), asc(user.id));
}

/** @param login in any letters */
export async function findUser(db: Reader, login: string): Promise<User | null> {
	const rows = await db
		.select()
		.from(user)
		.where(eq(user.login, loginOf(login)));
	return rows[0] ?? null;
}

export async function findUserById(db: Reader, id: number): Promise<User | null> {
	return (await db.select().from(user).where(eq(user.id, id)))[0] ?? null;
}

/** A sign-in name as it is kept and compared. */
export function loginOf(text: string): string {
	return text.normalize('NFKC').trim().toLowerCase();
}

/** A session and its person by the hash of the cookie, ended or not. */
export async function findSession(
	db: Reader,
	hash: string
): Promise<{ session: Session; user: User } | null> {
	const rows = await db
		.select({ session, user })
		.from(session)
		.innerJoin(user, eq(user.id, session.userId))
		.where(eq(session.hash, hash));
	return rows[0] ?? null;
}

/** Sessions that were not ended, the last used first; whether they have run out is for the caller to say. */
export async function loadOpenSessions(db: Reader, userId?: number): Promise<Session[]> {
	const own = userId === undefined ? undefined : eq(session.userId, userId);
	return db
		.select()
		.from(session)
		.where(and(isNull(session.endedAt), own))
		.orderBy(desc(session.seenAt), desc(session.id));
}

/** A token and its person by the token's hash, ended or not. */
export async function findToken(
	db: Reader,
	hash: string
): Promise<{ token: ApiToken; user: User } | null> {
	const rows = await db
		.select({ token: apiToken, user })
		.from(apiToken)
		.innerJoin(user, eq(user.id, apiToken.userId))
		.where(eq(apiToken.hash, hash));
	return rows[0] ?? null;
}

/** Tokens that were not ended and have not run out, the newest first. */
export async function loadTokens(db: Reader, now: number, userId?: number): Promise<ApiToken[]> {
	const own = userId === undefined ? undefined : eq(apiToken.userId, userId);
	return db
		.select()
		.from(apiToken)
		.where(and(isNull(apiToken.endedAt), gt(apiToken.expiresAt, now), own))
		.orderBy(desc(apiToken.createdAt), desc(apiToken.id));
}

/** A passkey that counts, and its person, by the device's name for it. */
export async function findPasskey(
	db: Reader,
	credentialId: string
): Promise<{ passkey: Passkey; user: User } | null> {
	const rows = await db
		.select({ passkey, user })
		.from(passkey)
		.innerJoin(user, eq(user.id, passkey.userId))
		.where(and(eq(passkey.credentialId, credentialId), isNull(passkey.endedAt)));
	return rows[0] ?? null;
}

/** The passkeys of a person that count, oldest first. */
export async function loadPasskeys(db: Reader, userId: number): Promise<Passkey[]> {
	return db
		.select()
		.from(passkey)
		.where(and(eq(passkey.userId, userId), isNull(passkey.endedAt)))
		.orderBy(asc(passkey.id));
}

export async function findInvitation(db: Reader, hash: string): Promise<Invitation | null> {
	return (await db.select().from(invitation).where(eq(invitation.hash, hash)))[0] ?? null;
}

/** Invitations that can still be used, the newest first. */
export async function loadOpenInvitations(db: Reader, now: number): Promise<Invitation[]> {
	return db
		.select()
		.from(invitation)
		.where(
			and(isNull(invitation.usedAt), isNull(invitation.withdrawnAt), gt(invitation.expiresAt, now))
		)
		.orderBy(desc(invitation.createdAt), desc(invitation.id));
}

/** How many recovery codes a person has left. */
export async function countRecoveryCodes(db: Reader, userId: number): Promise<number> {
	const rows = await db
		.select({ left: count() })
		.from(recoveryCode)
		.where(and(eq(recoveryCode.userId, userId), isNull(recoveryCode.usedAt)));
	return rows[0]!.left;
}

/** When tries to sign in failed, for a name or from an address, after a moment. */
export async function loadFailures(
	db: Reader,
	login: string,
	address: string,
	afterMs: number
): Promise<{ ofLogin: number[]; ofAddress: number[] }> {
	const rows = await db
		.select()
		.from(failedSignIn)
		.where(
			and(
				gt(failedSignIn.at, afterMs),
				or(eq(failedSignIn.login, login), eq(failedSignIn.address, address))
			)
		);
	const at = (kept: typeof rows) => kept.map((row) => row.at);
	return {
		ofLogin: at(rows.filter((row) => row.login === login)),
		ofAddress: at(rows.filter((row) => row.address === address))
	};
}

import type { Actor } from '#lib/domain/access/role.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { eq } from 'drizzle-orm';
import type { Database } from '../db/client.ts';
import { apiToken, session } from '../db/schema.ts';
import { databaseTrouble } from '../db/trouble.ts';
import { findSession, findToken, findUser, type User } from '../store/people.ts';
import { isLive, SEEN_EVERY_MS } from './lifetimes.ts';
import { hashOf } from './secret.ts';

/** Who asks, from what a request carries. */
export interface Asker {
	readonly actor: Actor;
	/** Null for a token and for a demo without sign-in. */
	readonly sessionId: number | null;
}

/** Somebody who has not said who they are: may do nothing. */
export const STRANGER: Actor = { userId: null, name: 'nobody', role: 'viewer', scope: 'read' };

const actorOf = ({ id, name, role }: User): Actor => ({ userId: id, name, role });

/** The person of a session's cookie, or null where the session has ended or run out. */
export async function askerOfSession(
	database: Database,
	secret: string,
	now: InstantMs
): Promise<Asker | null> {
	const found = await findSession(database.orm, hashOf(secret));
	if (!found || found.user.endedAt !== null || !isLive(found.session, now)) return null;
	const { id, seenAt } = found.session;
	if (now - seenAt >= SEEN_EVERY_MS)
		await whereItCanBe(
			database.write((tx) => tx.update(session).set({ seenAt: now }).where(eq(session.id, id)))
		);
	return { actor: actorOf(found.user), sessionId: id };
}

/** The person of `authorization: Bearer …`, narrowed by the token's scope; null without a good one. */
export async function askerOfToken(
	database: Database,
	header: string | null,
	now: InstantMs
): Promise<Asker | null> {
	const secret = /^Bearer ([\w-]{20,200})$/.exec(header ?? '')?.[1];
	const found = secret ? await findToken(database.orm, hashOf(secret)) : null;
	if (!found || found.user.endedAt !== null) return null;
	const { id, scope, endedAt, expiresAt, seenAt } = found.token;
	if (endedAt !== null || now >= expiresAt) return null;
	if (now - (seenAt ?? 0) >= SEEN_EVERY_MS)
		await whereItCanBe(
			database.write((tx) => tx.update(apiToken).set({ seenAt: now }).where(eq(apiToken.id, id)))
		);
	return { actor: { ...actorOf(found.user), scope }, sessionId: null };
}

/** When somebody was last seen is no reason to show them nothing while the disk is full. */
async function whereItCanBe(written: Promise<unknown>): Promise<void> {
	try {
		await written;
	} catch (error) {
		if (databaseTrouble(error) === null) throw error;
	}
}

/** The person that a demo on this machine lets everyone act as. */
export async function askerOfDemo(database: Database, login: string): Promise<Asker | null> {
	const found = await findUser(database.orm, login);
	return found && found.endedAt === null ? { actor: actorOf(found), sessionId: null } : null;
}

/** What of a request tells whether it comes from this machine and by a name of this machine. */
export interface Origin {
	readonly clientAddress: string;
	/** The `host` header: a page elsewhere that points its own name here is not let in. */
	readonly hostname: string;
	/** A proxy stands between. */
	readonly isForwarded: boolean;
}

const LOOPBACK_ADDRESS = /^(::ffff:)?127\.\d+\.\d+\.\d+$|^::1$/;
const LOOPBACK_NAMES = ['localhost', '127.0.0.1', '[::1]', '::1'];

/** Whether an address is one of this machine's own: nobody else can reach what listens there. */
export function isLoopback(address: string): boolean {
	return LOOPBACK_ADDRESS.test(address) || address === 'localhost';
}

/** Whether a request was made on this machine, to this machine, directly. */
export function isOwnMachine({ clientAddress, hostname, isForwarded }: Origin): boolean {
	return !isForwarded && isLoopback(clientAddress) && LOOPBACK_NAMES.includes(hostname);
}

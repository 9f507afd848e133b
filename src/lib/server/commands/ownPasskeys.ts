import { and, count, eq, isNull, lt } from 'drizzle-orm';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import {
	challengeIn,
	CHALLENGE_MS,
	newPasskey,
	optionsToAdd,
	type Place
} from '../auth/passkey.ts';
import type { Tx } from '../db/client.ts';
import { passkey, passkeyChallenge } from '../db/schema.ts';
import { findUserById, loadPasskeys } from '../store/people.ts';
import { note, perform, type Act, type Deed } from './act.ts';
import { isOwnPassword, ownUser, WRONG_PASSWORD } from './changeOwnAccount.ts';

/** A person's own passkeys. */

/** So many challenges wait at once; a flood of them fills no disk. */
const MOST_WAITING = 1_000;
const LONGEST_NAME = 60;

/** Keeps a challenge until it is answered or too old. @returns whether there was room */
export async function keepChallenge(
	tx: Tx,
	now: InstantMs,
	challenge: string,
	userId: number | null
): Promise<boolean> {
	await tx.delete(passkeyChallenge).where(lt(passkeyChallenge.createdAt, now - CHALLENGE_MS));
	const waiting = await tx.select({ n: count() }).from(passkeyChallenge);
	if (waiting[0]!.n >= MOST_WAITING) return false;
	await tx.insert(passkeyChallenge).values({ challenge, userId, createdAt: now });
	return true;
}

/** Takes a challenge away for good. @returns whether it was waiting, for this person, and not too old */
export async function takeChallenge(
	tx: Tx,
	now: InstantMs,
	challenge: string,
	userId: number | null
): Promise<boolean> {
	const taken = await tx
		.delete(passkeyChallenge)
		.where(eq(passkeyChallenge.challenge, challenge))
		.returning();
	const found = taken[0];
	return found?.userId === userId && now - found.createdAt < CHALLENGE_MS;
}

/** Begins to add a passkey. @returns what the browser hands to the device */
export async function beginPasskey(act: Act, place: Place, passwordNow: string) {
	if (!(await isOwnPassword(act, passwordNow))) return bad(WRONG_PASSWORD);
	const { database, now, actor } = act;
	const own = actor.userId === null ? null : await findUserById(database.orm, actor.userId);
	if (!own) return bad(WRONG_PASSWORD);
	const held = await loadPasskeys(database.orm, own.id);
	const options = await optionsToAdd(
		place,
		own,
		held.map(({ credentialId }) => credentialId)
	);
	const kept = await database.write((tx) => keepChallenge(tx, now, options.challenge, own.id));
	return kept ? good(options) : bad(BUSY);
}

/** Too many began and did not go on. */
export const BUSY = { path: 'passkey', message: 'Too many are at it now; try again in a minute.' };

const NOT_HELD = {
	path: 'passkey',
	message: 'The device’s answer does not hold, or came too late; nothing was added. Try again.'
};

/** Adds the passkey that a device answered with. */
export async function addPasskey(
	act: Act,
	place: Place,
	input: { readonly name: string; readonly answer: unknown }
): Promise<Outcome<null>> {
	const name = checkedName(input.name);
	if (!name.ok) return name;
	const { database, now, actor } = act;
	const challenge = challengeIn(input.answer);
	if (challenge === null || actor.userId === null) return bad(NOT_HELD);
	const { userId } = actor;
	const isWaiting = await database.write((tx) => takeChallenge(tx, now, challenge, userId));
	const made = isWaiting ? await newPasskey(place, challenge, input.answer) : null;
	if (!made) return bad(NOT_HELD);
	return perform(act, async (deed) => {
		const { id } = await ownUser(deed);
		const known = await deed.tx
			.select({ id: passkey.id })
			.from(passkey)
			.where(eq(passkey.credentialId, made.id));
		if (known[0]) return bad({ path: 'passkey', message: 'This passkey is on record already.' });
		await deed.tx.insert(passkey).values({
			...{ userId: id, name: name.value, createdAt: now },
			...{ credentialId: made.id, publicKey: Buffer.from(made.publicKey) },
			...{ counter: made.counter, transports: made.transports ?? [] }
		});
		await note(deed, 'add own passkey', null, { passkey: name.value });
		return good(null);
	});
}

function checkedName(text: string): Outcome<string> {
	const name = text.trim();
	if (name !== '' && name.length <= LONGEST_NAME) return good(name);
	const message = `Expected what you call it, 1 to ${LONGEST_NAME} characters.`;
	return bad({ path: 'passkey_name', message });
}

/** Calls a passkey of the actor's own something else. */
export async function renamePasskey(
	deed: Deed,
	input: { readonly id: number; readonly name: string }
): Promise<Outcome<null>> {
	const name = checkedName(input.name);
	if (!name.ok) return name;
	const found = await ownPasskey(deed, input.id);
	if (!found.ok) return found;
	await deed.tx.update(passkey).set({ name: name.value }).where(eq(passkey.id, input.id));
	const [before, after] = [{ passkey: found.value.name }, { passkey: name.value }];
	await note(deed, 'rename own passkey', null, { before, after });
	return good(null);
}

/** Lets a passkey of the actor's own count no more. */
export async function removePasskey(deed: Deed, id: number): Promise<Outcome<null>> {
	const found = await ownPasskey(deed, id);
	if (!found.ok) return found;
	await deed.tx.update(passkey).set({ endedAt: deed.now }).where(eq(passkey.id, id));
	await note(deed, 'remove own passkey', null, { passkey: found.value.name });
	return good(null);
}

async function ownPasskey(deed: Deed, id: number): Promise<Outcome<{ name: string }>> {
	const own = await ownUser(deed);
	const rows = await deed.tx
		.select({ name: passkey.name })
		.from(passkey)
		.where(and(eq(passkey.id, id), eq(passkey.userId, own.id), isNull(passkey.endedAt)));
	return rows[0] ? good(rows[0]) : bad({ path: 'passkey', message: 'There is no such passkey.' });
}

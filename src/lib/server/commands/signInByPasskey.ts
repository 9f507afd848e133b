import { eq } from 'drizzle-orm';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { challengeIn, optionsToSignIn, provenUses, type Place } from '../auth/passkey.ts';
import type { Database } from '../db/client.ts';
import { failedSignIn, passkey } from '../db/schema.ts';
import { findPasskey, findUserById } from '../store/people.ts';
import { note, perform } from './act.ts';
import { BUSY, keepChallenge, takeChallenge } from './ownPasskeys.ts';
import { countTry, startSession, waitText } from './signIn.ts';

/**
 * Signing in by a passkey, without a name or a password. Tries are counted and slowed as those with a password
 * are; an unknown passkey, a wrong answer and an ended account get one answer.
 */
interface At {
	readonly database: Database;
	readonly now: InstantMs;
}

/** @returns what the browser hands to the device */
export async function beginPasskeySignIn({ database, now }: At, place: Place) {
	const options = await optionsToSignIn(place);
	const kept = await database.write((tx) => keepChallenge(tx, now, options.challenge, null));
	return kept ? good(options) : bad(BUSY);
}

/** @returns the secret that the session's cookie holds */
export async function signInByPasskey(
	at: At,
	place: Place,
	input: { readonly answer: unknown; readonly address: string; readonly browser: string }
): Promise<Outcome<{ secret: string }>> {
	const { database, now } = at;
	const found = await findPasskey(database.orm, idIn(input.answer));
	const login = found?.user.login ?? '';
	const waits = await countTry(at, login, input.address);
	if (waits > 0) return bad({ path: 'passkey', message: waitText(waits) });
	const challenge = challengeIn(input.answer);
	const isWaiting =
		challenge !== null && (await database.write((tx) => takeChallenge(tx, now, challenge, null)));
	if (!found || !isWaiting) return refused();
	const { id, credentialId, publicKey, counter } = found.passkey;
	const credential = { id: credentialId, publicKey: new Uint8Array(publicKey), counter };
	const uses = await provenUses(place, challenge, input.answer, credential);
	if (uses === null) return refused();
	const { id: userId, name, role } = found.user;
	return perform({ ...at, actor: { userId, name, role } }, async (deed) => {
		// Either may have been ended while the answer was looked at.
		const person = await findUserById(deed.tx, userId);
		const still = await findPasskey(deed.tx, credentialId);
		if (!person || person.endedAt !== null || still?.passkey.counter !== counter) return refused();
		await deed.tx.update(passkey).set({ counter: uses, seenAt: now }).where(eq(passkey.id, id));
		await deed.tx.delete(failedSignIn).where(eq(failedSignIn.login, login));
		const secret = await startSession(deed, userId, input.browser);
		const { name: called } = found.passkey;
		await note(deed, 'sign in', null, { passkey: called, address: input.address });
		return good({ secret });
	});
}

function idIn(answer: unknown): string {
	const id = (answer as { id?: unknown } | null)?.id;
	return typeof id === 'string' ? id.slice(0, 2000) : '';
}

function refused(): Outcome<never> {
	const message =
		'This passkey is not known here, or its answer came too late. Try again, or use the password.';
	return bad({ path: 'passkey', message });
}

import { createHash } from 'node:crypto';
import {
	generateAuthenticationOptions,
	generateRegistrationOptions,
	verifyAuthenticationResponse,
	verifyRegistrationResponse,
	type AuthenticationResponseJSON,
	type RegistrationResponseJSON,
	type WebAuthnCredential
} from '@simplewebauthn/server';

/**
 * Passkeys after W3C Web Authentication, by a library. Rules:
 * 1. Only for the address that the person sees: origin and name are those that the origin check goes by.
 * 2. The device has to make sure who holds it, so a passkey is two factors by itself.
 * 3. A challenge is used once, within five minutes.
 */
export interface Place {
	/** `https://roastery.example` */
	readonly origin: string;
	/** Its name, without a port. */
	readonly name: string;
}

export const CHALLENGE_MS = 5 * 60_000;

/** Where a request came in, which `isForeign` in the hooks has held against its Origin. */
export function placeOfRequest({ origin, hostname }: URL): Place {
	return { origin, name: hostname };
}

export interface Holder {
	readonly id: number;
	readonly login: string;
	readonly name: string;
	readonly createdAt: number;
}

/** What the browser asks the device for a new passkey with. */
export function optionsToAdd(place: Place, who: Holder, held: readonly string[]) {
	// The standard wants a handle that tells nothing of the person.
	const handle = createHash('sha256').update(`passkeys of ${who.id} ${who.createdAt}`).digest();
	return generateRegistrationOptions({
		...{ rpName: 'Trierbook', rpID: place.name, timeout: CHALLENGE_MS, attestationType: 'none' },
		...{ userName: who.login, userDisplayName: who.name, userID: new Uint8Array(handle) },
		excludeCredentials: held.map((id) => ({ id })),
		authenticatorSelection: { residentKey: 'required', userVerification: 'required' }
	});
}

/** What the browser asks the device to prove itself with; the device knows whose passkeys it holds. */
export function optionsToSignIn(place: Place) {
	return generateAuthenticationOptions({
		...{ rpID: place.name, timeout: CHALLENGE_MS, userVerification: 'required' }
	});
}

/** The challenge that an answer says it is to; null where it isn't an answer at all. */
export function challengeIn(answer: unknown): string | null {
	try {
		const { response } = answer as { response: { clientDataJSON: string } };
		const text = Buffer.from(response.clientDataJSON, 'base64url').toString('utf8');
		const { challenge } = JSON.parse(text) as { challenge?: unknown };
		return typeof challenge === 'string' && challenge.length <= 200 ? challenge : null;
	} catch {
		return null;
	}
}

/** The new passkey of an answer; null when it does not hold (rules 1 and 2). */
export async function newPasskey(
	place: Place,
	challenge: string,
	answer: unknown
): Promise<WebAuthnCredential | null> {
	try {
		const { registrationInfo } = await verifyRegistrationResponse({
			response: answer as RegistrationResponseJSON,
			...expected(place, challenge)
		});
		return registrationInfo?.credential ?? null;
	} catch {
		return null;
	}
}

/** The uses that the device has counted now; null when the answer does not hold, the counter included. */
export async function provenUses(
	place: Place,
	challenge: string,
	answer: unknown,
	credential: WebAuthnCredential
): Promise<number | null> {
	try {
		const { verified, authenticationInfo } = await verifyAuthenticationResponse({
			...{ response: answer as AuthenticationResponseJSON, credential },
			...expected(place, challenge)
		});
		return verified ? authenticationInfo.newCounter : null;
	} catch {
		return null;
	}
}

function expected({ origin, name }: Place, expectedChallenge: string) {
	return {
		...{ expectedChallenge, expectedOrigin: origin, expectedRPID: name },
		requireUserVerification: true
	};
}

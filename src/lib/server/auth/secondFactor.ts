import { randomInt } from 'node:crypto';
import { Secret, TOTP } from 'otpauth';
import type { InstantMs } from '#lib/domain/quantity/time.ts';

/**
 * The second factor: one-time codes by time (RFC 6238, SHA-1, six digits, 30 s), and recovery codes for
 * a lost telephone. Rules:
 * 1. A code of the step before or after counts too: clocks differ.
 * 2. A step whose code was taken, and every earlier one, is not taken again.
 */
const PERIOD_S = 30;
const WINDOW = 1;

/** A new secret in base32, 160 bits, as RFC 4226 recommends. */
export function newTotpSecret(): string {
	return new Secret({ size: 20 }).base32;
}

function totp(secret: string, label = ''): TOTP {
	return new TOTP({
		issuer: 'Trierbook',
		label,
		algorithm: 'SHA1',
		digits: 6,
		period: PERIOD_S,
		secret: Secret.fromBase32(secret)
	});
}

/** The address that an app for one-time codes takes the secret from. */
export function totpAddress(secret: string, login: string): string {
	return totp(secret, login).toString();
}

/** The code of a moment; what the person's app shows. */
export function totpCode(secret: string, now: InstantMs): string {
	return totp(secret).generate({ timestamp: now });
}

/**
 * The step of a code that is right and was not taken yet (rules 1 and 2), or null.
 * @param lastStep newest step whose code was taken
 */
export function stepOfCode(
	secret: string,
	code: string,
	now: InstantMs,
	lastStep: number | null
): number | null {
	const token = code.replace(/\s/g, '');
	if (!/^\d{6}$/.test(token)) return null;
	const delta = totp(secret).validate({ token, timestamp: now, window: WINDOW });
	if (delta === null) return null;
	const step = Math.floor(now / 1000 / PERIOD_S) + delta;
	return lastStep !== null && step <= lastStep ? null : step;
}

/** No letters that look alike. */
const LETTERS = 'abcdefghjkmnpqrstuvwxyz23456789';
const CODES = 10;

/** Ten recovery codes of 16 letters in four groups, 79 random bits each. */
export function newRecoveryCodes(): string[] {
	const letter = () => LETTERS[randomInt(LETTERS.length)]!;
	const group = () => Array.from({ length: 4 }, letter).join('');
	return Array.from({ length: CODES }, () => Array.from({ length: 4 }, group).join('-'));
}

/** A recovery code as it is kept, however it was typed. */
export function plainRecoveryCode(code: string): string {
	return code.toLowerCase().replace(/[^a-z0-9]/g, '');
}

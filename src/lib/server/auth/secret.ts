import { createHash, randomBytes } from 'node:crypto';

/**
 * Secrets that a browser or a program holds: of a session, of an invitation, of a token. Each is 256
 * random bits, so a plain hash of it is enough to keep: nobody can guess what it was made from.
 */
export function newSecret(): string {
	return randomBytes(32).toString('base64url');
}

/** SHA-256 in hexadecimal: what the database keeps of a secret. */
export function hashOf(secret: string): string {
	return createHash('sha256').update(secret).digest('hex');
}

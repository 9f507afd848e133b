import { argon2, randomBytes, timingSafeEqual } from 'node:crypto';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';

/**
 * Passwords, kept as Argon2id hashes (RFC 9106). Rules:
 * 1. The parameters stand with the hash, so that they can be raised and old hashes still checked.
 * 2. A check costs the same whether there is such an account or not.
 */
interface Parameters {
	/** KiB. */
	readonly memory: number;
	readonly passes: number;
	readonly parallelism: number;
}

/**
 * 46 MiB, one pass, one lane: the largest memory of the equal choices that OWASP's Password Storage Cheat
 * Sheet gives (from memory). RFC 9106's 64 MiB with four lanes takes both cores of a small server for a second.
 */
const NOW: Parameters = { memory: 46 * 1024, passes: 1, parallelism: 1 };
const SALT_BYTES = 16;
const TAG_BYTES = 32;

/** Letters, at least and at most; the most keeps a giant text from being hashed. */
export const PASSWORD_LENGTH = { min: 12, max: 200 } as const;

/** What is wrong with a new password; nothing is asked but length and that it isn't the name. */
export function checkNewPassword(password: string, login: string): Outcome<string> {
	const { min, max } = PASSWORD_LENGTH;
	const length = [...password].length;
	if (length < min || length > max)
		return bad({
			path: 'password',
			message: `Found ${length} characters, expected ${min} to ${max}.`
		});
	if (login !== '' && password.toLowerCase().includes(login.toLowerCase()))
		return bad({
			path: 'password',
			message: 'Found the sign-in name in it, expected another text.'
		});
	return good(password);
}

/** A hash to keep: `$argon2id$v=19$m=65536,t=3,p=4$salt$tag`, both in base64 without padding. */
export async function hashPassword(password: string): Promise<string> {
	const salt = randomBytes(SALT_BYTES);
	return written(NOW, salt, await derive(password, salt, NOW, TAG_BYTES));
}

/** An account that isn't there is checked against this: no password gives it. */
const NOBODY = written(NOW, Buffer.alloc(SALT_BYTES), Buffer.alloc(TAG_BYTES));

/** What is kept of an account that opens to nobody until it is let back in: no password hashes to it. */
export const NO_PASSWORD = 'none';

/** Whether a password is the one of a kept hash; null, for no account, costs the same and is false. */
export async function isPassword(password: string, kept: string | null): Promise<boolean> {
	const own = kept === NO_PASSWORD ? null : kept;
	const { parameters, salt, tag } = read(own ?? NOBODY);
	const made = await derive(password, salt, parameters, tag.length);
	return timingSafeEqual(made, tag) && own !== null;
}

function derive(
	password: string,
	salt: Buffer,
	parameters: Parameters,
	tagLength: number
): Promise<Buffer> {
	// Two ways to type the same letter (NFC and NFD) are the same password.
	const message = password.normalize('NFKC');
	return new Promise((done, fail) => {
		argon2('argon2id', { message, nonce: salt, tagLength, ...parameters }, (error, tag) =>
			error ? fail(error) : done(tag)
		);
	});
}

function written({ memory, passes, parallelism }: Parameters, salt: Buffer, tag: Buffer): string {
	const text = (bytes: Buffer) => bytes.toString('base64').replace(/=+$/, '');
	return `$argon2id$v=19$m=${memory},t=${passes},p=${parallelism}$${text(salt)}$${text(tag)}`;
}

const WRITTEN = /^\$argon2id\$v=19\$m=(\d+),t=(\d+),p=(\d+)\$([A-Za-z0-9+/]+)\$([A-Za-z0-9+/]+)$/;

function read(kept: string): { parameters: Parameters; salt: Buffer; tag: Buffer } {
	const [, memory, passes, parallelism, salt, tag] = WRITTEN.exec(kept) ?? [];
	if (!salt || !tag) throw new Error('A kept password has no Argon2id form.');
	const parameters = {
		memory: Number(memory),
		passes: Number(passes),
		parallelism: Number(parallelism)
	};
	return { parameters, salt: Buffer.from(salt, 'base64'), tag: Buffer.from(tag, 'base64') };
}

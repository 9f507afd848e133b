import { argon2Sync } from 'node:crypto';
import { Secret } from 'otpauth';
import { describe, expect, it } from 'vitest';
import { isPassword } from '#lib/server/auth/password.ts';
import { stepOfCode, totpCode } from '#lib/server/auth/secondFactor.ts';

describe('passwords by Argon2id', () => {
	/** RFC 9106, section 5.3, Argon2id test vectors (from memory). */
	it('gives the tag of RFC 9106', () => {
		const tag = argon2Sync('argon2id', {
			message: Buffer.alloc(32, 0x01),
			nonce: Buffer.alloc(16, 0x02),
			secret: Buffer.alloc(8, 0x03),
			associatedData: Buffer.alloc(12, 0x04),
			memory: 32,
			passes: 3,
			parallelism: 4,
			tagLength: 32
		});
		expect(tag.toString('hex')).toBe(
			'0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659'
		);
	});

	/** The reference implementation's test.c: password, somesalt, t = 2, m = 2^16, p = 1 (from memory). */
	it('checks a kept password that the reference implementation wrote', async () => {
		const kept =
			'$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc';
		expect(await isPassword('password', kept)).toBe(true);
		expect(await isPassword('Password', kept)).toBe(false);
	});
});

/** RFC 6238, appendix B, SHA-1, secret '12345678901234567890'; its eight digits end in the six used here. */
describe('one-time codes by time', () => {
	const secret = Secret.fromUTF8('12345678901234567890').base32;
	it.each([
		[59, '94287082'],
		[1111111109, '07081804'],
		[1111111111, '14050471'],
		[1234567890, '89005924'],
		[2000000000, '69279037'],
		[20000000000, '65353130']
	])('at %i s', (seconds, eight) => {
		const code = eight.slice(2);
		expect(totpCode(secret, seconds * 1000)).toBe(code);
		expect(stepOfCode(secret, code, seconds * 1000, null)).toBe(Math.floor(seconds / 30));
	});
});

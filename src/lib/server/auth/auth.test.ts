import { describe, expect, it } from 'vitest';
import { cookieOptions } from './cookie.ts';
import { isLive, SESSION_IDLE_MS, SESSION_LONGEST_MS } from './lifetimes.ts';
import { checkNewPassword } from './password.ts';
import { localPath } from './returnTo.ts';
import {
	newRecoveryCodes,
	newTotpSecret,
	plainRecoveryCode,
	stepOfCode,
	totpCode
} from './secondFactor.ts';
import { hashOf, newSecret } from './secret.ts';
import { OF_ACCOUNT, OF_ADDRESS, REMEMBERED_MS, waitMs } from './throttle.ts';
import { isLoopback, isOwnMachine } from './who.ts';

const NOW = Date.UTC(2026, 10, 25, 9);

describe('where to go after signing in', () => {
	it.each([
		['/', '/'],
		['/lots/HR-151?act=release#act-release', '/lots/HR-151?act=release#act-release'],
		['/lots?q=caf%C3%A9', '/lots?q=caf%C3%A9']
	])('%s is a path of this site', (sent, path) => expect(localPath(sent)).toBe(path));

	it.each([
		null,
		undefined,
		'',
		'lots',
		'//elsewhere.example',
		'///elsewhere.example',
		'/\\elsewhere.example',
		'\\\\elsewhere.example',
		'/\t/elsewhere.example',
		'/\n/elsewhere.example',
		'\t//elsewhere.example',
		' //elsewhere.example',
		'/ /elsewhere.example',
		'/\u200b/elsewhere.example',
		'/..//elsewhere.example',
		'/.//elsewhere.example',
		'/lots/..//elsewhere.example',
		'/%2e%2e//elsewhere.example',
		'https://elsewhere.example',
		'https:/elsewhere.example',
		'javascript:alert(1)',
		'data:text/html,x',
		'http:elsewhere.example',
		'@elsewhere.example',
		'/lots\\..\\..',
		'/' + 'x'.repeat(3000)
	])('%j leads to the overview', (sent) => {
		expect(localPath(sent)).toBe('/');
	});

	it('what comes out is always on this site, as a browser reads it', () => {
		for (const sent of ['/a//b', '/a/../b', '/%2f%2felsewhere.example', '/?//x', '/#//x']) {
			const path = localPath(sent);
			expect(new URL(path, 'http://here.example').host).toBe('here.example');
			expect(path.startsWith('//')).toBe(false);
		}
	});
});

describe('guessing is slowed', () => {
	const failures = (n: number, at = NOW) => Array.from({ length: n }, () => at);
	it('costs nothing at first, then twice as long each time, a quarter of an hour at most (rule 1)', () => {
		const { free } = OF_ACCOUNT;
		expect(waitMs(failures(free - 1), NOW, OF_ACCOUNT)).toBe(0);
		const waits = [0, 1, 2, 3].map((more) => waitMs(failures(free + more), NOW, OF_ACCOUNT));
		expect(waits).toEqual([2_000, 4_000, 8_000, 16_000]);
		expect(waitMs(failures(5_000), NOW, OF_ACCOUNT)).toBe(15 * 60_000);
	});
	it('nobody waits for ever: the wait runs from the last failure, and failures are forgotten (rule 3)', () => {
		expect(waitMs(failures(100, NOW - 15 * 60_000), NOW, OF_ACCOUNT)).toBe(0);
		expect(waitMs(failures(100, NOW - REMEMBERED_MS), NOW, OF_ACCOUNT)).toBe(0);
	});
	it('an address may be a whole roastery', () => {
		expect(waitMs(failures(OF_ACCOUNT.free + 1), NOW, OF_ADDRESS)).toBe(0);
	});
});

describe('sessions', () => {
	const session = { createdAt: NOW, seenAt: NOW, endedAt: null };
	it('end when they are not used', () => {
		expect(isLive(session, NOW + SESSION_IDLE_MS - 1)).toBe(true);
		expect(isLive(session, NOW + SESSION_IDLE_MS)).toBe(false);
	});
	it('end after their longest life, used or not', () => {
		const used = { ...session, seenAt: NOW + SESSION_LONGEST_MS - 1 };
		expect(isLive(used, NOW + SESSION_LONGEST_MS - 1)).toBe(true);
		expect(isLive(used, NOW + SESSION_LONGEST_MS)).toBe(false);
	});
	it('end when they are ended', () => {
		expect(isLive({ ...session, endedAt: NOW }, NOW)).toBe(false);
	});
	it('travel in a cookie that no script reads and no other site sends, on https never in the clear', () => {
		expect(cookieOptions(new URL('https://here.example/'))).toMatchObject({
			httpOnly: true,
			sameSite: 'lax',
			secure: true,
			path: '/'
		});
		expect(cookieOptions(new URL('http://localhost:4173/')).secure).toBe(false);
	});
});

describe('the second factor', () => {
	const secret = newTotpSecret();
	it('takes the code of the step before and after, for clocks that differ (rule 1)', () => {
		for (const [offsetS, taken] of [
			[-60, false],
			[-30, true],
			[0, true],
			[30, true],
			[60, false]
		] as const)
			expect(stepOfCode(secret, totpCode(secret, NOW + offsetS * 1000), NOW, null) !== null).toBe(
				taken
			);
	});
	it('takes no code twice, nor an earlier one (rule 2)', () => {
		const step = stepOfCode(secret, totpCode(secret, NOW), NOW, null)!;
		expect(stepOfCode(secret, totpCode(secret, NOW), NOW, step)).toBe(null);
		expect(stepOfCode(secret, totpCode(secret, NOW - 30_000), NOW, step)).toBe(null);
		expect(stepOfCode(secret, totpCode(secret, NOW + 30_000), NOW + 30_000, step)).toBe(step + 1);
	});
	it.each(['', '12345', '1234567', 'abcdef', '１２３４５６'])('%j is no code', (code) => {
		expect(stepOfCode(secret, code, NOW, null)).toBe(null);
	});
	it('recovery codes are all different and read however they are typed', () => {
		const codes = newRecoveryCodes();
		expect(new Set(codes).size).toBe(10);
		expect(codes[0]).toMatch(/^[a-z2-9]{4}(-[a-z2-9]{4}){3}$/);
		expect(plainRecoveryCode(` ${codes[0]!.toUpperCase().replaceAll('-', ' ')} `)).toBe(
			codes[0]!.replaceAll('-', '')
		);
	});
});

describe('secrets and passwords', () => {
	it('a secret is 256 bits and kept as a hash', () => {
		expect(Buffer.from(newSecret(), 'base64url')).toHaveLength(32);
		expect(newSecret()).not.toBe(newSecret());
		// FIPS 180-2, appendix B.1.
		expect(hashOf('abc')).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
	});
	it.each([
		['elevenchars', 'ana', false],
		['twelve chars', 'ana', true],
		['ANA has a password', 'ana', false],
		['x'.repeat(201), 'ana', false]
	])('%s for %s: %s', (password, login, ok) => {
		expect(checkNewPassword(password, login).ok).toBe(ok);
	});
});

describe('the demo without sign-in is for this machine alone', () => {
	const here = { clientAddress: '127.0.0.1', hostname: 'localhost', isForwarded: false };
	it.each([
		[{}, true],
		[{ clientAddress: '::1', hostname: '[::1]' }, true],
		[{ clientAddress: '::ffff:127.0.0.1', hostname: '127.0.0.1' }, true],
		[{ clientAddress: '192.168.1.7' }, false],
		[{ hostname: 'elsewhere.example' }, false],
		[{ hostname: 'localhost.elsewhere.example' }, false],
		[{ isForwarded: true }, false]
	])('%j: %s', (over, own) => expect(isOwnMachine({ ...here, ...over })).toBe(own));
	it.each(['0.0.0.0', '::', '10.0.0.1', '127.0.0.1.example', ''])('%j is no loopback', (host) => {
		expect(isLoopback(host)).toBe(false);
	});
});

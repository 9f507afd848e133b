import { afterEach, beforeEach, expect, it } from 'vitest';
import { CHALLENGE_MS } from '#lib/server/auth/passkey.ts';
import { qrPicture } from '#lib/server/auth/qrPicture.ts';
import { OF_ACCOUNT, OF_ADDRESS } from '#lib/server/auth/throttle.ts';
import { perform } from '#lib/server/commands/act.ts';
import { setUpOwner } from '#lib/server/commands/makeAccount.ts';
import { keepChallenge, removePasskey, takeChallenge } from '#lib/server/commands/ownPasskeys.ts';
import { signInByPasskey } from '#lib/server/commands/signInByPasskey.ts';
import { passkey, passkeyChallenge, session } from '#lib/server/db/schema.ts';
import { findUser, loadPasskeys } from '#lib/server/store/people.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { done } from '#support/smallRoastery.ts';

/** What of passkeys needs no device: challenges, throttling, whose they are. */

const NOW = Date.UTC(2026, 10, 25, 9);
const PLACE = { origin: 'http://localhost', name: 'localhost' };

let db: TestDatabase;
let userId: number;

beforeEach(async () => {
	db = await newDatabase();
	const { database } = db;
	const who = { login: 'nell', name: 'Nell', password: 'a long way to release', browser: 'test' };
	done(await setUpOwner({ database, now: NOW }, who));
	userId = (await findUser(database.orm, 'nell'))!.id;
});
afterEach(() => db.remove());

it('a challenge is taken once, by whom it was made for, and not when it is old', async () => {
	const keep = (name: string, who: number | null) =>
		db.database.write((tx) => keepChallenge(tx, NOW, name, who));
	const take = (name: string, who: number | null, now = NOW) =>
		db.database.write((tx) => takeChallenge(tx, now, name, who));
	for (const name of ['once', 'of another', 'old']) await keep(name, userId);
	expect([await take('once', userId), await take('once', userId)]).toEqual([true, false]);
	expect(await take('of another', null)).toBe(false);
	expect(await take('of another', userId)).toBe(false);
	expect(await take('old', userId, NOW + CHALLENGE_MS)).toBe(false);
	expect(await take('never made', null)).toBe(false);
});

it('challenges that nobody answers go, and no more than a thousand wait', async () => {
	const keep = (i: number, now: number) =>
		db.database.write((tx) => keepChallenge(tx, now, `challenge ${i}`, null));
	const rows = Array.from({ length: 1000 }, (_, i) => ({ challenge: `${i}`, createdAt: NOW }));
	await db.database.orm.insert(passkeyChallenge).values(rows);
	expect(await keep(1, NOW)).toBe(false);
	expect(await keep(2, NOW + CHALLENGE_MS + 1)).toBe(true);
	expect(await db.database.orm.select().from(passkeyChallenge)).toHaveLength(1);
});

const row = () => ({
	...{ userId, name: 'Desk', credentialId: 'abc', publicKey: Buffer.from([1]), counter: 0 },
	...{ transports: [], createdAt: NOW }
});
const tryIt = (id: string, now: number) =>
	signInByPasskey({ database: db.database, now }, PLACE, {
		...{ answer: { id, response: {} }, address: '192.0.2.7', browser: 'test' }
	});

it('tries with a passkey are slowed as those with a password are, by account and by address', async () => {
	await db.database.orm.insert(passkey).values(row());
	const words = async (id: string, now: number) => {
		const outcome = await tryIt(id, now);
		return outcome.ok ? 'in' : outcome.problems[0]!.message;
	};
	for (let i = 0; i < OF_ACCOUNT.free; i++)
		expect(await words('abc', NOW + i)).toMatch(/not known/);
	expect(await words('abc', NOW + 10)).toMatch(/^Too many tries went wrong/);
	// One address tries passkeys that nobody has: slowed too, in the end.
	let now = NOW + 86_400_000 * 2;
	const said: string[] = [];
	for (let i = 0; i <= OF_ADDRESS.free; i++) said.push(await words(`made up ${i}`, now++));
	expect(said.at(-1)).toMatch(/^Too many tries went wrong/);
	expect(await db.database.orm.select().from(session)).toHaveLength(1);
});

it('nobody removes another person’s passkey', async () => {
	await db.database.orm.insert(passkey).values(row());
	const [held] = await loadPasskeys(db.database.orm, userId);
	const stranger = { userId: userId + 1, name: 'Mo', role: 'owner' as const };
	const act = { database: db.database, now: NOW, actor: stranger };
	await expect(perform(act, (deed) => removePasskey(deed, held!.id))).rejects.toThrow('no account');
	expect(await loadPasskeys(db.database.orm, userId)).toHaveLength(1);
});

it('the picture of a key is a square with its three marks and a quiet edge', () => {
	const { size, path } = qrPicture('otpauth://totp/Trierbook:nell?secret=JBSWY3DPEHPK3PXP');
	const dark = new Set([...path.matchAll(/M(\d+) (\d+)h/g)].map(([, x, y]) => `${x},${y}`));
	// Versions are 21 modules and four more each; a mark is a ring of seven about a block of three.
	expect((size - 8 - 21) % 4).toBe(0);
	for (const [x0, y0] of [
		[4, 4],
		[size - 11, 4],
		[4, size - 11]
	] as const)
		for (let y = 0; y < 7; y++)
			for (let x = 0; x < 7; x++) {
				const away = Math.max(Math.abs(x - 3), Math.abs(y - 3));
				expect(dark.has(`${x0 + x},${y0 + y}`)).toBe(away !== 2);
			}
	for (let i = 0; i < size; i++)
		for (let j = 0; j < 4; j++) expect(dark.has(`${i},${j}`)).toBe(false);
});

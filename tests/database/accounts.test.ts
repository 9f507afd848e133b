import * as crypto from 'node:crypto';
import { eq, sql } from 'drizzle-orm';
import { afterAll, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest';
import { ACT_NAMES, mayAct } from '#lib/domain/access/rights.ts';
import { ROLES, type Role, type Scope } from '#lib/domain/access/role.ts';
import { good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { INVITATION_MS, SESSION_IDLE_MS } from '#lib/server/auth/lifetimes.ts';
import { totpCode } from '#lib/server/auth/secondFactor.ts';
import { hashOf } from '#lib/server/auth/secret.ts';
import { askerOfDemo, askerOfSession, askerOfToken } from '#lib/server/auth/who.ts';
import { note, perform, type Act } from '#lib/server/commands/act.ts';
import * as own from '#lib/server/commands/changeOwnAccount.ts';
import * as person from '#lib/server/commands/changePerson.ts';
import { inviteBack, invitePerson, withdrawInvitation } from '#lib/server/commands/invitePerson.ts';
import { acceptInvitation, setUpOwner } from '#lib/server/commands/makeAccount.ts';
import { signIn, signOut, startSession } from '#lib/server/commands/signIn.ts';
import { apiToken, audit, invitation, recoveryCode, session, user } from '#lib/server/db/schema.ts';
import { findSession, findUser, loadOpenInvitations } from '#lib/server/store/people.ts';
import { someone } from '#support/actors.ts';
import { newDatabase, rowCounts, type TestDatabase } from '#support/database.ts';
import { done } from '#support/smallRoastery.ts';

/** Notes what a password is hashed with, and hashes it with less: a kept hash says nothing of that here. */
vi.mock('node:crypto', async (original) => {
	const real = await original<typeof crypto>();
	const cheap = { memory: 8, passes: 1, parallelism: 1 };
	const argon2: typeof real.argon2 = (algorithm, parameters, callback) =>
		real.argon2(algorithm, { ...parameters, ...cheap }, callback);
	return { ...real, argon2: vi.fn(argon2) };
});

const NOW = Date.UTC(2026, 10, 25, 9);
const MINUTE = 60_000;
const PASSWORD = 'from green to release';
const HERE = { address: '192.0.2.1', browser: 'test' };

let db: TestDatabase;
let kept: string;

beforeAll(async () => {
	db = await newDatabase();
	const account = { login: ' Nell ', name: 'Nell', password: PASSWORD, browser: 'test' };
	done(await setUpOwner({ database: db.database, now: NOW }, account));
	kept = (await findUser(db.database.orm, 'nell'))!.password;
});
afterAll(() => db.remove());

let made = 0;
/** A fresh account with the password, and the act of its person. */
async function account(
	role: Role = 'quality',
	now = NOW
): Promise<{ id: number; login: string; act: Act }> {
	const login = `person-${(made += 1)}`;
	const row = { login, name: `Person ${made}`, role, password: kept, createdAt: now };
	const rows = await db.database.write((tx) =>
		tx.insert(user).values(row).returning({ id: user.id })
	);
	const id = rows[0]!.id;
	const actor = { userId: id, name: row.name, role };
	return { id, login, act: { database: db.database, now, actor } };
}

/** A session that somebody already has. */
const newSession = (userId: number, now = NOW) =>
	db.database.write((tx) => startSession({ tx, now }, userId, 'test'));
const asks = (secret: string, now = NOW) => askerOfSession(db.database, secret, now);
const enter = (login: string, over: object = {}, now = NOW) =>
	signIn({ database: db.database, now }, { login, password: PASSWORD, code: '', ...HERE, ...over });
const messages = (outcome: Outcome<unknown>) =>
	outcome.ok ? [] : outcome.problems.map((p) => p.message);
const ownerAct = async (): Promise<Act> => {
	const { id: userId, name, role } = (await findUser(db.database.orm, 'nell'))!;
	return { database: db.database, now: NOW, actor: { userId, name, role } };
};

describe('the first run', () => {
	it('makes the owner, once', async () => {
		expect(await findUser(db.database.orm, 'NELL')).toMatchObject({ name: 'Nell', role: 'owner' });
		expect(kept).toMatch(/^\$argon2id\$v=19\$m=47104,t=1,p=1\$/);
		const again = { login: 'other', name: 'Other', password: PASSWORD, browser: 'test' };
		const before = await rowCounts(db.database);
		expect(messages(await setUpOwner({ database: db.database, now: NOW }, again))).toEqual([
			'The owner is set up already; sign in instead.'
		]);
		expect(await rowCounts(db.database)).toEqual(before);
	});
	it('says all that is wrong with an account', async () => {
		const bad = { login: 'a b', name: ' ', password: 'short', browser: 'test' };
		const refused = await setUpOwner({ database: db.database, now: NOW }, bad);
		expect(refused.ok ? [] : refused.problems.map((p) => p.path)).toEqual([
			'login',
			'name',
			'password'
		]);
	});
});

describe('signing in', () => {
	it('starts a session that is known by its cookie and kept as a hash', async () => {
		const { id, login } = await account();
		const { secret } = done(await enter(`  ${login.toUpperCase()} `));
		expect((await asks(secret))?.actor).toEqual({
			...{ userId: id, role: 'quality' },
			name: expect.stringContaining('Person') as string
		});
		expect((await findSession(db.database.orm, hashOf(secret)))!.session.hash).not.toContain(
			secret
		);
	});

	it('answers an unknown name, a wrong password and an ended account alike, after the same work (rule 1)', async () => {
		const ended = await account();
		await db.database.write((tx) =>
			tx.update(user).set({ endedAt: NOW }).where(eq(user.id, ended.id))
		);
		const { login } = await account();
		const argon2 = vi.mocked(crypto.argon2);
		const answers = [];
		for (const [name, password] of [
			['nobody-at-all', PASSWORD],
			[login, 'another long password'],
			[ended.login, PASSWORD]
		] as const) {
			argon2.mockClear();
			const outcome = await enter(name, { password });
			const [, parameters] = argon2.mock.calls[0]!;
			const { memory, passes, parallelism, tagLength } = parameters;
			answers.push({
				outcome,
				work: { n: argon2.mock.calls.length, memory, passes, parallelism, tagLength }
			});
		}
		expect(answers[0]!.outcome.ok).toBe(false);
		expect(answers[0]!.work).toEqual({
			n: 1,
			memory: 47104,
			passes: 1,
			parallelism: 1,
			tagLength: 32
		});
		expect(answers[1]).toEqual(answers[0]);
		expect(answers[2]).toEqual(answers[0]);
	});

	it('is slowed after five wrong tries, for unknown names too, and not for ever (rule 2)', async () => {
		const { login } = await account();
		for (const name of [login, 'no-such-name']) {
			const from = { ...HERE, address: `192.0.2.${name.length}` };
			const wrong = { ...from, password: 'x' };
			await Promise.all(Array.from({ length: 5 }, () => enter(name, wrong)));
			vi.mocked(crypto.argon2).mockClear();
			expect(messages(await enter(name, from))).toEqual([
				'Too many tries went wrong. The next is looked at in 2 seconds; nobody is locked out for good.'
			]);
			expect(vi.mocked(crypto.argon2)).not.toHaveBeenCalled();
		}
		// The right password is let in once the wait is over, and clears the account.
		done(await enter(login, {}, NOW + 2_000));
		expect(messages(await enter(login, { password: 'x' }, NOW + 3_000))[0]).toContain(
			'is not right'
		);
	});

	it('is slowed for an address that tries many names', async () => {
		const from = { ...HERE, address: '198.51.100.9' };
		await db.database.write(async (tx) => {
			const { failedSignIn } = await import('#lib/server/db/schema.ts');
			await tx
				.insert(failedSignIn)
				.values(
					Array.from({ length: 30 }, (_, i) => ({ at: NOW, login: `n${i}`, address: from.address }))
				);
		});
		expect(messages(await enter('nell', from))[0]).toContain('Too many tries');
		expect(messages(await enter('no-such', { address: '198.51.100.10' }))[0]).toContain(
			'not right'
		);
	});
});

describe('the second factor', () => {
	let who: Awaited<ReturnType<typeof account>>;
	let secret: string;
	let codes: readonly string[];
	beforeAll(async () => {
		who = await account();
		expect((await own.beginSecondFactor(who.act, 'not the password')).ok).toBe(false);
		({ secret } = done(await own.beginSecondFactor(who.act, PASSWORD)));
		const wrong = await perform(who.act, (deed) => own.proveSecondFactor(deed, '000000'));
		expect(wrong.ok).toBe(false);
		({ codes } = done(
			await perform(who.act, (deed) => own.proveSecondFactor(deed, totpCode(secret, NOW)))
		));
	});

	it('is asked for, and its code is taken once (rule 3)', async () => {
		const later = NOW + 5 * MINUTE;
		const code = totpCode(secret, later);
		expect((await enter(who.login, {}, later)).ok).toBe(false);
		done(await enter(who.login, { code }, later));
		expect((await enter(who.login, { code }, later)).ok).toBe(false);
	});

	it('the code that proved it is spent', async () => {
		expect((await enter(who.login, { code: totpCode(secret, NOW) })).ok).toBe(false);
	});

	it('two at once with one code: one is let in', async () => {
		const later = NOW + 20 * MINUTE;
		const code = totpCode(secret, later);
		const both = await Promise.all([1, 2].map(() => enter(who.login, { code }, later)));
		expect(both.filter(({ ok }) => ok)).toHaveLength(1);
	});

	it('a recovery code stands in once, and is kept as a hash', async () => {
		const later = NOW + 40 * MINUTE;
		const code = codes[3]!.toUpperCase();
		done(await enter(who.login, { code }, later));
		expect((await enter(who.login, { code }, later + MINUTE)).ok).toBe(false);
		const rows = await db.database.orm
			.select()
			.from(recoveryCode)
			.where(eq(recoveryCode.userId, who.id));
		expect(rows).toHaveLength(10);
		expect(rows.filter((row) => row.usedAt !== null)).toHaveLength(1);
		expect(JSON.stringify(rows)).not.toContain(codes[0]);
	});

	it('is taken off with the password', async () => {
		expect((await own.removeSecondFactor(who.act, 'x')).ok).toBe(false);
		done(await own.removeSecondFactor(who.act, PASSWORD));
		done(await enter(who.login, {}, NOW + 60 * MINUTE));
	});
});

describe('sessions', () => {
	it('end by signing out, by the person, when unused, and with the account', async () => {
		const { id, act } = await account();
		const [one, two, three] = [await newSession(id), await newSession(id), await newSession(id)];
		done(await signOut(act, (await asks(one!))!.sessionId!));
		expect(await asks(one!)).toBe(null);
		const twoId = (await asks(two!))!.sessionId!;
		done(await perform(act, (deed) => own.endOwnSession(deed, twoId)));
		expect(await asks(two!)).toBe(null);
		expect(await asks(three!, NOW + SESSION_IDLE_MS)).toBe(null);
		expect(await asks(three!, NOW + SESSION_IDLE_MS - 1)).not.toBe(null);
		done(await perform(await ownerAct(), (deed) => person.endAccount(deed, id)));
		expect(await asks(three!, NOW + SESSION_IDLE_MS)).toBe(null);
		expect(await asks('never-a-session')).toBe(null);
	});

	it('nobody ends the session of another by its number', async () => {
		const [one, other] = [await account(), await account()];
		const secret = await newSession(other.id);
		const sessionId = (await asks(secret))!.sessionId!;
		expect((await perform(one.act, (deed) => own.endOwnSession(deed, sessionId))).ok).toBe(false);
		expect(await asks(secret)).not.toBe(null);
	});

	it('a changed password ends all but the one that changed it', async () => {
		const { id, act, login } = await account();
		const [here, there] = [await newSession(id), await newSession(id)];
		const sessionId = (await asks(here))!.sessionId;
		const next = 'another way to release';
		expect(messages(await own.changePassword(act, { now: 'x', next, sessionId }))).toEqual([
			'This is not your password.'
		]);
		expect(
			(await own.changePassword(act, { now: PASSWORD, next: `my ${login} pass`, sessionId })).ok
		).toBe(false);
		done(await own.changePassword(act, { now: PASSWORD, next, sessionId }));
		expect(await asks(here)).not.toBe(null);
		expect(await asks(there)).toBe(null);
		expect((await enter(login)).ok).toBe(false);
		done(await enter(login, { password: next }));
	});

	it('a role counts from the next request on', async () => {
		const { id } = await account('viewer');
		const secret = await newSession(id);
		const to = (role: string) => ({ userId: id, role });
		done(await perform(await ownerAct(), (deed) => person.changeRole(deed, to('finance'))));
		expect((await asks(secret))?.actor.role).toBe('finance');
		expect(
			(await perform(await ownerAct(), (deed) => person.changeRole(deed, to('king')))).ok
		).toBe(false);
	});
});

describe('invitations', () => {
	const accept = (secret: string, over: object = {}, now = NOW) =>
		acceptInvitation({ database: db.database, now }, secret, {
			login: `guest-${(made += 1)}`,
			name: 'Guest',
			password: PASSWORD,
			browser: 'test',
			...over
		});
	const invite = async (role: Role = 'roasting') =>
		done(await perform(await ownerAct(), (deed) => invitePerson(deed, { name: 'Guest', role })))
			.secret;

	it('make an account of that role once, and are kept as a hash', async () => {
		const secret = await invite();
		expect(JSON.stringify(await db.database.orm.select().from(invitation))).not.toContain(secret);
		const taken = await accept(secret, { login: 'nell' });
		expect(messages(taken)).toEqual(["Found 'nell', which is taken; choose another."]);
		const session = done(await accept(secret));
		expect((await asks(session.secret))?.actor).toMatchObject({ name: 'Guest', role: 'roasting' });
		expect(messages(await accept(secret))[0]).toContain('was used');
	});

	it('two at once with one link: one account', async () => {
		const secret = await invite();
		const both = await Promise.all([accept(secret), accept(secret)]);
		expect(both.filter(({ ok }) => ok)).toHaveLength(1);
	});

	it('run out and can be taken back', async () => {
		const late = await invite();
		expect((await accept(late, {}, NOW + INVITATION_MS)).ok).toBe(false);
		const open = await loadOpenInvitations(db.database.orm, NOW);
		const act = await ownerAct();
		done(await perform(act, (deed) => withdrawInvitation(deed, open[0]!.id)));
		expect((await accept(late)).ok).toBe(false);
		expect((await perform(act, (deed) => withdrawInvitation(deed, open[0]!.id))).ok).toBe(false);
		expect((await accept('made-up')).ok).toBe(false);
	});

	it('let a person back in, without the second factor and with every session ended', async () => {
		const { id, login } = await account();
		await db.database.write((tx) =>
			tx.update(user).set({ totpSecret: 'GEZDGNBV' }).where(eq(user.id, id))
		);
		const old = await newSession(id);
		const { secret } = done(await perform(await ownerAct(), (deed) => inviteBack(deed, id)));
		const next = 'yet another long password';
		const session = done(await accept(secret, { password: next, login: 'ignored' }));
		expect((await asks(session.secret))?.actor.userId).toBe(id);
		expect(await asks(old)).toBe(null);
		done(await enter(login, { password: next }));
	});

	it.each(ROLES.filter((role) => role !== 'owner'))('%s invites nobody', async (role) => {
		const { act } = await account(role);
		const before = await rowCounts(db.database);
		const refused = await perform(act, (deed) => invitePerson(deed, { name: 'Mo', role: 'owner' }));
		expect(refused.ok ? [] : refused.problems[0]!.path).toBe('right');
		expect(await rowCounts(db.database)).toEqual(before);
	});
});

describe('the last owner', () => {
	it('can neither be ended nor become less', async () => {
		const act = await ownerAct();
		const id = act.actor.userId!;
		expect(messages(await perform(act, (deed) => person.endAccount(deed, id)))[0]).toContain(
			'only owner'
		);
		const less = { userId: id, role: 'viewer' };
		expect(messages(await perform(act, (deed) => person.changeRole(deed, less)))[0]).toContain(
			'only owner'
		);
	});
});

describe('tokens', () => {
	const token = async (act: Act, scope: Scope, days = 30) =>
		done(await perform(act, (deed) => own.makeToken(deed, { name: 'scale', scope, days }))).secret;
	const bearer = (secret: string, now = NOW) => askerOfToken(db.database, `Bearer ${secret}`, now);

	it('act as their person within their scope until they run out, and are kept as a hash', async () => {
		const { id, act } = await account('roasting');
		const secret = await token(act, 'record logs');
		expect((await bearer(secret))?.actor).toMatchObject({
			userId: id,
			role: 'roasting',
			scope: 'record logs'
		});
		expect(await bearer(secret, NOW + 30 * 24 * 60 * MINUTE)).toBe(null);
		expect(JSON.stringify(await db.database.orm.select().from(apiToken))).not.toContain(secret);
		for (const header of [null, '', 'Bearer', `Basic ${secret}`, secret, `Bearer ${secret}x`])
			expect(await askerOfToken(db.database, header, NOW)).toBe(null);
	});

	it('of scope read change nothing', async () => {
		const { act } = await account('owner');
		const { actor } = (await bearer(await token(act, 'read')))!;
		const before = await rowCounts(db.database);
		const refused = await perform({ ...act, actor }, (deed) =>
			invitePerson(deed, { name: 'Mo', role: 'viewer' })
		);
		expect(messages(refused)[0]).toContain("A token for 'read' may not do this");
		expect(await rowCounts(db.database)).toEqual(before);
	});

	it('end by their person, by an owner, and with the account', async () => {
		const { id, act } = await account('roasting');
		const secrets = [await token(act, 'all'), await token(act, 'all'), await token(act, 'all')];
		const ids = await db.database.orm.select().from(apiToken).where(eq(apiToken.userId, id));
		done(await perform(act, (deed) => own.endOwnToken(deed, ids[0]!.id)));
		done(await perform(await ownerAct(), (deed) => person.endAnyToken(deed, ids[1]!.id)));
		expect(await bearer(secrets[0]!)).toBe(null);
		expect(await bearer(secrets[1]!)).toBe(null);
		expect(await bearer(secrets[2]!)).not.toBe(null);
		done(await perform(await ownerAct(), (deed) => person.endAccount(deed, id)));
		done(await perform(await ownerAct(), (deed) => person.restoreAccount(deed, id)));
		expect(await bearer(secrets[2]!)).toBe(null);
	});

	it.each([
		['token_name', { name: ' ' }],
		['scope', { scope: 'everything' }],
		['days', { days: 9999 }]
	])('need a right %s', async (path, over) => {
		const { act } = await account();
		const input = { name: 'scale', scope: 'read', days: 30, ...over };
		const refused = await perform(act, (deed) => own.makeToken(deed, input));
		expect(refused.ok ? null : refused.problems[0]!.path).toBe(path);
	});
});

describe('the demo acts as a person that is there', () => {
	it('and as nobody else', async () => {
		expect((await askerOfDemo(db.database, 'nell'))?.actor.role).toBe('owner');
		expect(await askerOfDemo(db.database, 'no-such-name')).toBe(null);
	});
});

describe('role by act: noting asks the table', () => {
	it.each(ROLES)('%s, every act', async (role) => {
		const actor = someone(role, 'Mo');
		const written = () =>
			Promise.all([db.database.orm.$count(session), db.database.orm.$count(audit)]);
		for (const act of ACT_NAMES) {
			const before = await written();
			const outcome = await perform({ database: db.database, now: NOW, actor }, async (deed) => {
				// Something is written before the right is asked for; a refusal takes it back.
				await deed.tx.insert(session).values({
					...{ hash: `${role} ${act}`, userId: 1, createdAt: NOW, seenAt: NOW, browser: 'test' }
				});
				await note(deed, act, null, {});
				return good(null);
			});
			expect({ act, ok: outcome.ok }).toEqual({ act, ok: mayAct(role, act) });
			if (!outcome.ok) {
				expect(outcome.problems).toEqual([
					{ path: 'right', message: expect.stringContaining(`Your role is ${role}`) as string }
				]);
				expect(await written()).toEqual(before);
			}
		}
	});
});

describe('the audit', () => {
	beforeEach(async () => {
		const { act } = await account('operations');
		await perform(act, async (deed) => {
			await note({ ...deed, by: 'Ines' }, 'save demand', null, { week: '2026-W48' });
			return good(null);
		});
	});

	it('keeps the name on record and who did it, with the account', async () => {
		const [last] = await db.database.orm
			.select()
			.from(audit)
			.orderBy(sql`${audit.id} desc`)
			.limit(1);
		expect(last).toMatchObject({ by: 'Ines', act: 'save demand', at: NOW });
		expect(last!.actor).toMatch(/^Person /);
		expect(last!.userId).toBeGreaterThan(1);
	});

	it.each([
		['changed', sql`update audit set "by" = 'somebody else'`],
		['changed by a detail', sql`update audit set detail = '{}' where id = 1`],
		['removed', sql`delete from audit`]
	])('cannot be %s', async (_, statement) => {
		const before = await db.database.orm.select().from(audit);
		await expect(db.database.write((tx) => tx.run(statement))).rejects.toMatchObject({
			cause: { message: expect.stringContaining('The audit is never edited.') as string }
		});
		expect(await db.database.orm.select().from(audit)).toEqual(before);
	});
});

import { eq } from 'drizzle-orm';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { endCalendar, makeCalendar } from '#lib/server/commands/calendarFeeds.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { planWeek } from '#lib/server/commands/planWeek.ts';
import { calendarFeed, user } from '#lib/server/db/schema.ts';
import { loadCalendar, loadOwnCalendars } from '#lib/server/views/calendar.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { arrivedLot, done, SETTINGS, setUpRoastery } from '#support/smallRoastery.ts';

/** Calendars at secret addresses (commands/calendarFeeds.ts, views/calendar.ts). */

/** Monday 23 November 2026, 06:00 in London. */
const NOW = Date.UTC(2026, 10, 23, 6);
let db: TestDatabase;
let act: Act;
let roasterId: number;
const calendar = (secret: string, now = NOW) => loadCalendar(db.database.orm, now, secret);

beforeEach(async () => {
	db = await newDatabase();
	const people = await db.database.write((tx) =>
		tx
			.insert(user)
			.values({ login: 'ada', name: 'Ada', role: 'owner', password: 'none', createdAt: NOW })
			.returning({ id: user.id })
	);
	act = { database: db.database, now: NOW, actor: { ...owner('Ada'), userId: people[0]!.id } };
	({ roasterId } = await setUpRoastery(act));
	for (const [code, by] of [
		['A-1', 'Ada'],
		['A-2', 'Ben']
	] as const) {
		const lotId = await arrivedLot(act, code);
		const test = { lotId, roasterId, plannedAt: NOW, purpose: 'first', change: 'none' };
		const planned = { ...act, actor: { ...act.actor, name: by } };
		done(await perform(planned, (deed) => planTest(deed, { ...test, settings: SETTINGS })));
	}
	done(await perform(act, (deed) => planWeek(deed, '2026-W48')));
});
afterEach(() => db.remove());

const make = async (of: number | null) =>
	done(await perform(act, (deed) => makeCalendar(deed, of))).secret;

describe('a calendar at a secret address', () => {
	it('has a roaster’s slots, or the tests that its person planned', async () => {
		const all = (await calendar(await make(roasterId)))!;
		expect(all.name).toBe('Corner Drum: Drum roaster');
		expect(all.entries.map(({ summary }) => summary)).toEqual(['A-1 test 1', 'A-2 test 1']);
		expect(all.entries[0]).toMatchObject({ startMs: NOW + 90 * 60_000, location: 'Drum roaster' });
		const own = (await calendar(await make(null)))!;
		expect(own.entries.map(({ summary }) => summary)).toEqual(['A-1 test 1']);
	});

	it('names a slot the same, with a higher sequence, once the week is planned anew', async () => {
		const secret = await make(roasterId);
		const before = (await calendar(secret))!.entries[0]!;
		const later = { ...act, now: NOW + 3 * 3_600_000 };
		done(await perform(later, (deed) => planWeek(deed, '2026-W48')));
		const uid = before.uid;
		const after = (await calendar(secret, later.now))!.entries.find((one) => one.uid === uid)!;
		expect(after.sequence).toBe(before.sequence + 1);
	});

	it('is kept as a hash of 256 random bits, and answers no more once it is ended', async () => {
		const secret = await make(null);
		expect(Buffer.from(secret, 'base64url')).toHaveLength(32);
		const [row] = await db.database.orm.select().from(calendarFeed);
		expect(row!.hash).not.toContain(secret);
		expect(await calendar(`${secret}x`)).toBe(null);
		const { feeds } = await loadOwnCalendars(db.database.orm, NOW, act.actor.userId!);
		expect(feeds).toMatchObject([{ of: 'My tests and cuppings' }]);
		done(await perform(act, (deed) => endCalendar(deed, feeds[0]!.id)));
		expect(await calendar(secret)).toBe(null);
		expect((await perform(act, (deed) => endCalendar(deed, feeds[0]!.id))).ok).toBe(false);
	});

	it('ends with the account', async () => {
		const secret = await make(roasterId);
		await db.database.write((tx) =>
			tx.update(user).set({ endedAt: NOW }).where(eq(user.id, act.actor.userId!))
		);
		expect(await calendar(secret)).toBe(null);
	});
});

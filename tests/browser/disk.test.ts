import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { inspectDatabase } from '#lib/server/backup/inspect.ts';
import { openDatabase } from '#lib/server/db/client.ts';
import { session as sessionTable } from '#lib/server/db/schema.ts';
import { loadLots } from '#lib/server/store/lots.ts';
import { owner } from '#support/actors.ts';
import { startServer } from '#support/server.ts';
import { cookieHeader, signedIn } from '#support/session.ts';
import { smallDisk } from '#support/smallDisk.ts';
import { setUpRoastery } from '#support/smallRoastery.ts';

/** The built server on a disk that is really full, and on one that is really read-only. */

const disk = smallDisk(16);
const why = typeof disk === 'string' ? ` (left out: ${disk})` : '';
afterAll(() => {
	if (typeof disk !== 'string') disk.remove();
});

const LOT = {
	...{ name: 'Quebrada Mansa', kind: 'washed', country: 'CO', bag_kg: '60', bags_expected: '2' },
	...{ expected_on: '2027-01-04', organic: 'no', decaf: 'no', note: 'x'.repeat(2000) }
};
const FULL = /disk of the server (is full: make room on it|failed to write)/;

describe.skipIf(typeof disk === 'string')(`a small disk${why}`, () => {
	if (typeof disk === 'string') return;
	const path = join(disk.folder, 'test.db');
	const env = { DATABASE_URL: `file:${path}` };

	it('full: it is said, the input is kept, all that was acknowledged is there, and it goes on', async () => {
		const server = await startServer({ env });
		const database = await openDatabase({ url: server.databaseUrl });
		const actor = owner('Nell');
		await setUpRoastery({ database, now: Date.now(), actor });
		const session = await signedIn(server.databaseUrl, 'owner');
		// The next request of this session would write when it was seen.
		await database.write((tx) => tx.update(sessionTable).set({ seenAt: Date.now() - 3_600_000 }));
		await database.close();
		const headers = { ...cookieHeader(session), origin: server.address, accept: 'text/html' };
		const add = async (code: string) => {
			const body = new URLSearchParams({ ...LOT, code });
			const init = { method: 'POST', redirect: 'manual' as const, headers, body };
			const response = await fetch(`${server.address}/lots/new`, init);
			return { status: response.status, text: await response.text() };
		};
		const acknowledged: string[] = [];
		expect((await add('L-FIRST')).status).toBe(303);
		acknowledged.push('L-FIRST');

		disk.fill(server.pid);
		// What SQLite has set aside already takes a few more.
		let refused: { status: number; text: string } | null = null;
		for (let i = 0; i < 300 && refused === null; i++) {
			const answer = await add(`L-${i}`);
			if (answer.status === 303) acknowledged.push(`L-${i}`);
			else refused = answer;
		}
		expect(refused?.text).toMatch(FULL);
		expect(refused?.text).toContain('Nothing was recorded and nothing is lost.');
		expect(refused?.text).toContain('value="Quebrada Mansa"');
		expect(refused?.text).toContain('x'.repeat(2000));
		// Reading goes on.
		const lots = await fetch(`${server.address}/lots?q=L-FIRST`, { headers });
		expect(lots.status).toBe(200);
		expect(await lots.text()).toContain('L-FIRST');
		// Where no form is to be shown again, the page of errors says it.
		const wrong = { login: 'nobody', password: 'not the way', code: '' };
		const signIn = await fetch(`${server.address}/sign-in`, {
			...{ method: 'POST', headers, redirect: 'manual', body: new URLSearchParams(wrong) }
		});
		expect(await signIn.text()).toMatch(FULL);

		disk.makeRoom(server.pid);
		expect((await add('L-LAST')).status).toBe(303);
		acknowledged.push('L-LAST');
		expect(await server.stop()).toBe(0);
		const after = await openDatabase({ url: env.DATABASE_URL });
		expect((await loadLots(after.orm)).map(({ code }) => code).sort()).toEqual(acknowledged.sort());
		await after.close();
		expect((await inspectDatabase(path)).ok).toBe(true);
	});

	it.skipIf(disk.readOnlyFolder === null)(
		'read-only: the server says so and does not start; afterwards all is there',
		async () => {
			const there = { DATABASE_URL: `file:${join(disk.readOnlyFolder!, 'test.db')}` };
			await expect(startServer({ env: there })).rejects.toThrow(
				/The database file:\S+ was not opened\. .*read-only/
			);
			const server = await startServer({ env });
			const database = await openDatabase({ url: env.DATABASE_URL });
			expect((await loadLots(database.orm)).map(({ code }) => code)).toContain('L-LAST');
			await database.close();
			await server.stop();
		}
	);
});

import { afterAll, beforeAll, expect, it } from 'vitest';
import { workMany } from '#support/manyUsers.ts';
import { startServer, type TestServer } from '#support/server.ts';

/** The short form of `npm run bench -- --slow --only many`: so many people, so many requests, no clock. */

let server: TestServer;

beforeAll(async () => {
	server = await startServer({ entry: 'demo' });
});
afterAll(() => server.stop());

it('ten people at once: no error, every acknowledged record there, the second editor told', async () => {
	const result = await workMany(server, {
		...{ users: 10, seed: 7, pauseMs: [0, 5] },
		goesOn: (turn) => turn < 12
	});
	expect(result.faults).toEqual([]);
	expect(result.recorded).toBeGreaterThan(10);
	expect([...result.statuses.values()].reduce((sum, each) => sum + each, 0)).toBeGreaterThan(120);
});

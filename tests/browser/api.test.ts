import { createHash, randomUUID } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { request } from 'node:http';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { perform } from '#lib/server/commands/act.ts';
import { makeToken } from '#lib/server/commands/changeOwnAccount.ts';
import { openDatabase } from '#lib/server/db/client.ts';
import { user } from '#lib/server/db/schema.ts';
import { owner } from '#support/actors.ts';
import { startServer, type TestServer } from '#support/server.ts';
import { arrivedLot, done, setUpRoastery } from '#support/smallRoastery.ts';
import { ROOT } from '../../src/cli/support/build.ts';

/** The interface for programs over HTTP, the log of requests, and a stop while a request is under way. */

const LOG = readFileSync(join(ROOT, 'demo-data/logs/samples/HR-133-arrival.csv'));

let server: TestServer;
let token: string;
let isStopped = false;

beforeAll(async () => {
	server = await startServer();
	const database = await openDatabase({ url: server.databaseUrl });
	const now = Date.now();
	await setUpRoastery({ database, now, actor: owner('Nell') });
	await arrivedLot({ database, now, actor: owner('Nell') }, 'A-1');
	const login = { login: 'drum', name: 'Drum', role: 'roasting' as const };
	const [made] = await database.write((tx) =>
		tx
			.insert(user)
			.values({ ...login, password: 'none', createdAt: now })
			.returning()
	);
	const act = { database, now, actor: { userId: made!.id, name: 'Drum', role: made!.role } };
	const asked = { name: 'drum', scope: 'record logs', days: 30 };
	token = done(await perform(act, (deed) => makeToken(deed, asked))).secret;
	await database.close();
});
afterAll(async () => {
	if (!isStopped) await server.stop();
});

const call = (method: string, path: string, body: string | Uint8Array<ArrayBuffer> | null = null) =>
	fetch(`${server.address}/api/v1${path}`, {
		method,
		body,
		headers: {
			authorization: `Bearer ${token}`,
			'content-type': typeof body === 'string' ? 'application/json' : 'application/octet-stream'
		}
	});

test('a program without a good token gets problem details', async () => {
	for (const authorization of ['', 'Bearer wrong-wrong-wrong-wrong']) {
		const response = await fetch(`${server.address}/api/v1/lots`, { headers: { authorization } });
		expect(response.status).toBe(401);
		expect(response.headers.get('content-type')).toBe('application/problem+json');
		expect(await response.json()).toMatchObject({ status: 401, title: 'Unauthorized' });
	}
});

test('the document and the lots are answered; a log comes in by chunks', async () => {
	const document = (await (await call('GET', '/openapi.json')).json()) as { openapi: string };
	expect(document.openapi).toBe('3.1.0');
	const lots = (await (await call('GET', '/lots')).json()) as { items: unknown[] };
	expect(lots.items).toMatchObject([{ code: 'A-1', stage: 'arrived' }]);
	const path = `/live-logs/${randomUUID()}`;
	const started = await call('PUT', path, JSON.stringify({ fileName: 'run.csv' }));
	expect(started.status).toBe(200);
	const half = Math.floor(LOG.length / 2);
	const parts = [LOG.subarray(0, half), LOG.subarray(half)].map((part) => new Uint8Array(part));
	for (const [i, part] of parts.entries())
		expect((await call('PUT', `${path}/chunks/${i}`, part)).status).toBe(200);
	const about = { lot: 'A-1', stage: 'arrival', charge_g: '100', out_g: '86', by: 'Drum' };
	const finish = {
		chunks: 2,
		sha256: createHash('sha256').update(LOG).digest('hex'),
		about: { ...about, roasted_at: new Date().toISOString().slice(0, 16) }
	};
	const finished = await call('POST', `${path}/finish`, JSON.stringify(finish));
	expect(await finished.json()).toMatchObject({ finishedAt: expect.any(String) as string });
	const samples = (await (await call('GET', '/samples?lot=A-1')).json()) as { items: unknown[] };
	expect(samples.items).toMatchObject([{ stage: 'arrival', fileName: 'run.csv' }]);
});

test('each request is a line of JSON by its route, and nothing secret is in it', async () => {
	await call('GET', '/lots/A-1?limit=sesame');
	await expect.poll(() => server.output()).toContain('"route":"/api/v1/lots/[code]","status":400');
	const lines = server
		.output()
		.split('\n')
		.filter((line) => line.startsWith('{'))
		.map((line) => JSON.parse(line) as Record<string, unknown>);
	expect(lines).toContainEqual(
		expect.objectContaining({ method: 'GET', route: '/api/v1/lots', status: 401, userId: null })
	);
	for (const secret of [token, 'sesame', 'wrong-wrong', 'A-1'])
		expect(server.output()).not.toContain(secret);
});

test('a request under way is answered before the server stops', async () => {
	const id = randomUUID();
	await call('PUT', `/live-logs/${id}`, JSON.stringify({ fileName: 'late.csv' }));
	const sending = request(`${server.address}/api/v1/live-logs/${id}/chunks/0`, {
		method: 'PUT',
		headers: {
			authorization: `Bearer ${token}`,
			'content-type': 'application/octet-stream',
			'content-length': 20
		}
	});
	const status = new Promise<number | undefined>((resolve, reject) => {
		sending.on('response', (response) => resolve(response.statusCode));
		sending.on('error', reject);
	});
	await new Promise<void>((sent) => sending.write('time,bean\n', () => sent()));
	// The server has it once it has answered something that was asked later.
	await fetch(`${server.address}/healthz`);
	const stopped = server.stop();
	isStopped = true;
	await expect
		.poll(() =>
			fetch(`${server.address}/healthz`).then(
				() => 'up',
				() => 'down'
			)
		)
		.toBe('down');
	sending.end('0,20\n1,21\n');
	expect(await status).toBe(200);
	expect(await stopped).toBe(0);
});

import { createHash, randomUUID } from 'node:crypto';
import { globSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { answer, MAX_CHUNK_BYTES } from '#lib/server/api/operation.ts';
import { openApiDocument } from '#lib/server/api/openapi.ts';
import { operationOf, OPERATIONS } from '#lib/server/api/operations.ts';
import { CALLS_A_MINUTE, rateLimit } from '#lib/server/api/rate.ts';
import { hashOf } from '#lib/server/auth/secret.ts';
import { findLot } from '#lib/server/store/lots.ts';
import { owner, someone } from '#support/actors.ts';
import { callApi } from '#support/api.ts';
import { newDatabase, rowCounts, type TestDatabase } from '#support/database.ts';
import { arrivedLot, done, SETTINGS, setUpRoastery } from '#support/smallRoastery.ts';
import { ROOT } from '../../src/cli/support/build.ts';

/** The interface for programs: what it reads, what it takes, and the document that says so. */

const NOW = Date.UTC(2026, 10, 25, 9);
const LOG = readFileSync(join(ROOT, 'demo-data/logs/samples/HR-133-arrival.csv'));
const ABOUT = {
	lot: 'A-1',
	stage: 'arrival',
	roasted_at: '2026-11-25T08:00',
	by: 'Jo',
	charge_g: '100',
	out_g: '86'
};

let db: TestDatabase;
let act: Act;

beforeAll(async () => {
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Nell') };
	const { roasterId } = await setUpRoastery(act);
	for (const code of ['A-1', 'A-2', 'A-3']) await arrivedLot(act, code);
	const lotId = (await findLot(db.database.orm, 'A-2'))!.id;
	const plan = {
		...{ lotId, roasterId, plannedAt: NOW, settings: SETTINGS },
		...{ purpose: 'start' as const, change: '' }
	};
	done(await perform(act, (deed) => planTest(deed, plan)));
});
afterAll(() => db.remove());

const sha256 = (bytes: Uint8Array) => createHash('sha256').update(bytes).digest('hex');
const chunksOf = (bytes: Uint8Array, size: number) =>
	Array.from({ length: Math.ceil(bytes.length / size) }, (_, i) =>
		bytes.subarray(i * size, (i + 1) * size)
	);

/** Starts a log and sends all of it in chunks of 4 KB. */
async function sent(bytes: Uint8Array = LOG, fileName = 'run.csv') {
	const id = randomUUID();
	expect((await callApi(act, 'PUT', `/live-logs/${id}`, { fileName })).status).toBe(200);
	const parts = chunksOf(bytes, 4096);
	for (const [i, part] of parts.entries())
		expect((await callApi(act, 'PUT', `/live-logs/${id}/chunks/${i}`, part)).status).toBe(200);
	return { id, chunks: parts.length, sha256: sha256(bytes) };
}

test('lots come by code, a page at a time, each once', async () => {
	const codes: string[] = [];
	let next: unknown = null;
	do {
		const query = next === null ? '' : `&cursor=${next as string}`;
		const { json } = await callApi(act, 'GET', `/lots?limit=2${query}`);
		codes.push(...(json['items'] as { code: string }[]).map(({ code }) => code));
		next = json['next'];
	} while (next !== null);
	expect(codes).toEqual(['A-1', 'A-2', 'A-3']);
	const queued = await callApi(act, 'GET', '/lots?stage=queued for test');
	expect(queued.json['items']).toMatchObject([{ code: 'A-2', testsWaiting: 1, onHandG: 120_000 }]);
});

test('one lot, tests, slots and costs are answered', async () => {
	expect((await callApi(act, 'GET', '/lots/A-1')).json).toMatchObject({
		code: 'A-1',
		stage: 'arrived',
		country: 'CO'
	});
	const tests = await callApi(act, 'GET', '/tests?lot=A-2');
	expect(tests.json['items']).toMatchObject([
		{ lot: 'A-2', number: 1, roaster: 'R15', chargeG: 10_000, roastedAt: null, verdict: null }
	]);
	expect((await callApi(act, 'GET', '/weeks/2026-W48/slots')).json).toEqual({
		items: [],
		next: null
	});
	expect((await callApi(act, 'GET', '/costs?by=lot&period=all')).json).toMatchObject({
		currency: 'GBP',
		lines: [],
		total: { tests: 0, netMinor: 0 }
	});
});

test.each([
	['GET', '/lots/NONE', 404],
	['GET', '/samples/999', 404],
	['GET', '/samples/0', 400],
	['GET', '/samples/1e9', 404],
	['GET', '/samples/abc/log', 400],
	['GET', '/tests?lot=NONE', 404],
	['GET', '/tests/A-2/1/log', 404],
	['GET', '/tests/A-2/100/log', 400],
	['GET', '/weeks/2026-W60/slots', 400],
	['GET', '/lots?limit=0', 400],
	['GET', '/lots?limit=9999', 400],
	['GET', '/lots?cursor=@@@', 400],
	['GET', '/lots?cursor=MTI', 400],
	['GET', '/lots?colour=blue', 400],
	['GET', '/costs?by=moon', 400],
	['GET', '/costs?period=2026-13', 400],
	['GET', '/live-logs/not-a-uuid', 400],
	['GET', `/live-logs/${randomUUID()}`, 404],
	['DELETE', `/live-logs/${randomUUID()}`, 404]
] as const)('%s %s is refused with %i in problem details', async (method, address, status) => {
	const called = await callApi(act, method, address);
	expect(called.status).toBe(status);
	expect(called.type).toBe('application/problem+json');
	expect(called.json).toMatchObject({ type: 'about:blank', status });
	expect(String(called.json['detail']).length).toBeGreaterThan(10);
});

test('a log sent in chunks is recorded as the same file would be', async () => {
	const { id, ...whole } = await sent();
	const before = await rowCounts(db.database);
	const finished = await callApi(act, 'POST', `/live-logs/${id}/finish`, {
		...whole,
		about: ABOUT
	});
	expect(finished.json).toMatchObject({ id, finishedAt: '2026-11-25T09:00:00.000Z' });
	const { json } = await callApi(act, 'GET', '/samples?lot=A-1');
	const [sample] = json['items'] as { id: number; by: string; reading: { dropS: number } }[];
	expect(sample).toMatchObject({ by: 'Jo', fileName: 'run.csv', stage: 'arrival' });
	expect(sample!.reading.dropS).toBeGreaterThan(100);
	const file = await callApi(act, 'GET', `/samples/${sample!.id}/log`);
	expect(Buffer.from(file.bytes).equals(LOG)).toBe(true);
	const after = await rowCounts(db.database);
	expect(after['sample_roast']).toBe(before['sample_roast']! + 1);
	expect(after['live_log_chunk']).toBe(0);

	const again = await callApi(act, 'POST', `/live-logs/${id}/finish`, { ...whole, about: ABOUT });
	expect(again.status).toBe(200);
	expect(await rowCounts(db.database)).toEqual(after);
	const other = { ...whole, sha256: '0'.repeat(64) };
	expect((await callApi(act, 'POST', `/live-logs/${id}/finish`, other)).status).toBe(409);
	expect((await callApi(act, 'PUT', `/live-logs/${id}/chunks/0`, LOG)).status).toBe(409);
	expect((await callApi(act, 'DELETE', `/live-logs/${id}`)).status).toBe(409);
});

test('a repeated chunk is fine, another under its number and a gap are not, and it says what is next', async () => {
	const id = randomUUID();
	const start = () => callApi(act, 'PUT', `/live-logs/${id}`, { fileName: 'a.csv' });
	const put = (number: number, text: string) =>
		callApi(act, 'PUT', `/live-logs/${id}/chunks/${number}`, Buffer.from(text));
	await start();
	expect((await start()).status).toBe(200);
	expect((await callApi(act, 'PUT', `/live-logs/${id}`, { fileName: 'b.csv' })).status).toBe(409);
	expect((await put(0, 'time,bean\n')).json).toMatchObject({ nextChunk: 1, bytes: 10 });
	expect((await put(0, 'time,bean\n')).json).toMatchObject({ nextChunk: 1, bytes: 10 });
	expect((await put(0, 'time,air\n')).status).toBe(409);
	const gap = await put(2, '0,20\n');
	expect(gap.status).toBe(409);
	expect(gap.json['detail']).toContain('expected 1 next');
	expect((await put(1, '')).status).toBe(422);
	expect((await callApi(act, 'GET', `/live-logs/${id}`)).json).toMatchObject({ nextChunk: 1 });
	expect((await callApi(act, 'DELETE', `/live-logs/${id}`)).status).toBe(204);
	expect((await callApi(act, 'GET', `/live-logs/${id}`)).status).toBe(404);
});

test('a chunk or a log that is too large is refused and not kept', async () => {
	const id = randomUUID();
	await callApi(act, 'PUT', `/live-logs/${id}`, { fileName: 'big.csv' });
	const put = (number: number, size: number) =>
		callApi(act, 'PUT', `/live-logs/${id}/chunks/${number}`, new Uint8Array(size).fill(48));
	expect((await put(0, MAX_CHUNK_BYTES + 1)).status).toBe(413);
	for (let i = 0; i < 16; i++) expect((await put(i, MAX_CHUNK_BYTES)).status).toBe(200);
	expect((await put(16, 1)).status).toBe(413);
	await callApi(act, 'DELETE', `/live-logs/${id}`);
	const long = { fileName: 'x'.repeat(70_000) };
	expect((await callApi(act, 'PUT', `/live-logs/${randomUUID()}`, long)).status).toBe(413);
});

test('a finish that is refused changes nothing, and can be made again otherwise', async () => {
	const text = new TextEncoder().encode(`${LOG.toString()}\n`);
	const { id, ...whole } = await sent(text, 'again.csv');
	const before = await rowCounts(db.database);
	const finish = (change: object) =>
		callApi(act, 'POST', `/live-logs/${id}/finish`, { ...whole, about: ABOUT, ...change });
	expect((await finish({ chunks: 99 })).status).toBe(409);
	expect((await finish({ sha256: 'f'.repeat(64) })).status).toBe(409);
	const wrong = await finish({ about: { ...ABOUT, lot: 'NONE', out_g: 'much' } });
	expect(wrong.status).toBe(422);
	expect(JSON.stringify(wrong.json['errors'])).toContain('again.csv');
	expect(await rowCounts(db.database)).toEqual(before);
	const left = await finish({ record: false });
	expect(left.status).toBe(200);
	const after = await rowCounts(db.database);
	expect(after['intake_file']).toBe(before['intake_file']! + 1);
	expect(after['sample_roast']).toBe(before['sample_roast']);
});

test('rights and senders are kept apart', async () => {
	const as = (actor: Act['actor'], body: object = { fileName: 'x.csv' }) =>
		callApi({ ...act, actor }, 'PUT', `/live-logs/${randomUUID()}`, body);
	expect((await as(someone('viewer'))).status).toBe(403);
	expect((await as(someone('finance'))).status).toBe(403);
	expect((await as({ ...owner('Nell'), scope: 'read' })).status).toBe(403);
	expect((await as({ ...someone('roasting'), scope: 'record logs' })).status).toBe(200);
	const { id, ...whole } = await sent(Buffer.from('time,bean\n0,20\n'), 'own.csv');
	const other = { ...act, actor: { ...owner('Other'), userId: 77 } };
	expect((await callApi(other, 'GET', `/live-logs/${id}`)).status).toBe(404);
	expect((await callApi(other, 'POST', `/live-logs/${id}/finish`, whole)).status).toBe(404);
	const reader = { ...act, actor: { ...owner('Nell'), scope: 'read' as const } };
	const chunk = Buffer.from('9');
	expect((await callApi(reader, 'PUT', `/live-logs/${id}/chunks/1`, chunk)).status).toBe(403);
});

interface Described {
	readonly operationId: string;
	readonly parameters?: readonly { readonly name: string; readonly in: string }[];
	readonly responses: Record<string, unknown>;
}

test('the document has every route and method, with every parameter and no broken reference', () => {
	const document = openApiDocument(OPERATIONS);
	expect(document['openapi']).toBe('3.1.0');
	const paths = document['paths'] as Record<string, Record<string, Described>>;
	const stated = Object.entries(paths).flatMap(([path, methods]) =>
		Object.keys(methods).map((method) => `${method.toUpperCase()} ${path}`)
	);
	const routes = globSync('src/routes/api/v1/**/+server.ts', { cwd: ROOT })
		.filter((file) => !file.includes('openapi.json'))
		.flatMap((file) => {
			const code = readFileSync(join(ROOT, file), 'utf8');
			const path = file.slice('src/routes/api/v1'.length, -'/+server.ts'.length);
			return [
				...code.matchAll(/export const (\w+): RequestHandler = answer\(operationOf\('(\w+)'/g)
			].map(([, method, id]) => {
				const template = path.replaceAll('[', '{').replaceAll(']', '}');
				expect(paths[template]?.[method!.toLowerCase()]?.operationId).toBe(id);
				return `${method} ${template}`;
			});
		});
	expect(routes.sort()).toEqual(stated.sort());
	for (const [path, methods] of Object.entries(paths))
		for (const { parameters = [], responses } of Object.values(methods)) {
			const inPath = parameters.filter((one) => one.in === 'path').map(({ name }) => name);
			expect(inPath).toEqual([...path.matchAll(/\{(\w+)\}/g)].map(([, name]) => name));
			expect(Object.keys(responses)).toEqual(expect.arrayContaining(['400', '401', '403', '429']));
		}
	const schemas = (document['components'] as { schemas: Record<string, unknown> }).schemas;
	const refs = [...JSON.stringify(document).matchAll(/"\$ref":"([^"]+)"/g)].map(([, ref]) => ref!);
	expect(refs.length).toBeGreaterThan(10);
	for (const ref of refs) expect(schemas).toHaveProperty(ref.split('/').at(-1)!);
	expect(schemas['Lot']).toMatchObject({ required: expect.arrayContaining(['code', 'onHandG']) });
});

test('a token that calls too often is told how long to wait; its live logs and other tokens go on', async () => {
	const limit = rateLimit();
	const call = (id: string, token: string, now: number) => {
		const url = new URL('http://localhost/api/v1/');
		const request = new Request(url, { headers: { authorization: `Bearer ${token}` } });
		const params = id === 'listLots' ? {} : { id: randomUUID() };
		return answer(operationOf(id), limit)({ locals: { ...act, now }, params, url, request });
	};
	for (let i = 0; i < CALLS_A_MINUTE - 1; i++) limit.take(`other ${hashOf('Bearer a')}`, 1e9, NOW);
	expect((await call('listLots', 'a', NOW + 20_000)).status).toBe(200);
	const refused = await call('listLots', 'a', NOW + 30_500);
	expect(refused.status).toBe(429);
	expect(refused.headers.get('retry-after')).toBe('30');
	expect(refused.headers.get('content-type')).toBe('application/problem+json');
	expect(await refused.json()).toMatchObject({
		title: 'Too Many Requests',
		detail: 'Too many calls in a minute; nothing was done. Wait 30 s.'
	});
	expect((await call('getLiveLog', 'a', NOW + 30_500)).status).toBe(404);
	expect((await call('listLots', 'b', NOW + 30_500)).status).toBe(200);
	expect((await call('listLots', 'a', NOW + 60_000)).status).toBe(200);
});

import { afterAll, beforeAll, expect, it } from 'vitest';
import { openDatabase, type Database } from '#lib/server/db/client.ts';
import { owner } from '#support/actors.ts';
import { rowCounts } from '#support/database.ts';
import { startServer, type TestServer } from '#support/server.ts';
import { cookieHeader, signedIn } from '#support/session.ts';
import { arrivedLot, setUpRoastery } from '#support/smallRoastery.ts';

/** What is larger than the server takes (here 20 KB) is refused in words, and nothing of it is kept. */

let server: TestServer;
let database: Database;
let headers: Record<string, string>;

beforeAll(async () => {
	server = await startServer({ env: { BODY_SIZE_LIMIT: '20K' } });
	database = await openDatabase({ url: server.databaseUrl });
	const act = { database, now: Date.now(), actor: owner('Nell') };
	await setUpRoastery(act);
	await arrivedLot(act, 'A-1');
	const session = await signedIn(server.databaseUrl, 'owner');
	headers = { ...cookieHeader(session), origin: server.address, accept: 'text/html' };
});
afterAll(async () => {
	await database.close();
	await server.stop();
});

const row = '1,2\n';
const LARGE = `time_s,bean_c\n${row.repeat(20_000)}`;

async function send(
	path: string,
	body: FormData | ReadableStream,
	more: Record<string, string> = {}
) {
	const response = await fetch(server.address + path, {
		...{ method: 'POST', headers: { ...headers, ...more }, body, redirect: 'manual' },
		...(body instanceof ReadableStream ? { duplex: 'half' } : {})
	} as RequestInit);
	return { status: response.status, text: await response.text() };
}

function form(field: string, name: string): FormData {
	const data = new FormData();
	data.append(field, new Blob([LARGE]), name);
	return data;
}

const WORDS = 'larger than this server takes at once; nothing was kept';

it.each([
	['/intake', 'files', 'A-1 arrival.csv'],
	['/setup/tables', 'tables', 'lots.csv'],
	['/lots/new', 'note', 'x.csv']
])('%s refuses what is too large', async (path, field, name) => {
	const before = await rowCounts(database);
	const { status, text } = await send(path, form(field, name));
	expect(status).toBe(413);
	expect(text).toContain(WORDS);
	expect(await rowCounts(database)).toEqual(before);
});

it('a body that does not say how long it is is cut where it is too long', async () => {
	const before = await rowCounts(database);
	const boundary = 'x-boundary';
	const head = `--${boundary}\r\ncontent-disposition: form-data; name="files"; filename="A-1.csv"\r\n\r\n`;
	const body = new Blob([head, LARGE, `\r\n--${boundary}--\r\n`]).stream();
	const type = { 'content-type': `multipart/form-data; boundary=${boundary}` };
	const { status, text } = await send('/intake', body, type);
	expect(status).toBe(413);
	expect(text).toContain(WORDS);
	expect(await rowCounts(database)).toEqual(before);
});

it('what fits is taken', async () => {
	const data = new FormData();
	data.append('files', new Blob([LARGE.slice(0, 2000)]), 'A-1 arrival.csv');
	expect((await send('/intake', data)).status).toBe(303);
});

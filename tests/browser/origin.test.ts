import { request } from 'node:http';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startServer, type TestServer } from '#support/server.ts';

/** What the server entry promises: whose form posts are taken, how large, and how it stops. */
let server: TestServer;

beforeAll(async () => {
	server = await startServer();
});
afterAll(async () => {
	await server.stop();
});

/** What setting up an owner with a short password is answered when it is let in. */
const LET_IN = 400;
const FORM = '/welcome?/owner';

/** Status of a form post: `LET_IN`, or 403 when its origin is refused. */
async function postStatus(headers: Record<string, string>, to = server): Promise<number> {
	const own = { 'content-type': 'application/x-www-form-urlencoded', accept: 'text/html' };
	const response = await fetch(to.address + FORM, {
		method: 'POST',
		headers: { ...own, ...headers },
		redirect: 'manual',
		body: 'login=ana&name=Ana&password=short'
	});
	await response.arrayBuffer();
	return response.status;
}

test('a form post from its own page over plain http is let in', async () => {
	expect(await postStatus({ origin: server.address })).toBe(LET_IN);
});

test('a form post from a foreign page is refused', async () => {
	expect(await postStatus({ origin: 'http://elsewhere.example' })).toBe(403);
	expect(await postStatus({ origin: server.address.replace('http:', 'https:') })).toBe(403);
	expect(await postStatus({ origin: 'null' })).toBe(403);
});

test('a form post that does not say where it comes from is refused', async () => {
	expect(await postStatus({})).toBe(403);
});

test('behind a proxy that says https, only the https page is its own', async () => {
	const secure = server.address.replace('http:', 'https:');
	expect(await postStatus({ origin: secure, 'x-forwarded-proto': 'https' })).toBe(LET_IN);
	expect(await postStatus({ origin: server.address, 'x-forwarded-proto': 'https' })).toBe(403);
});

test('a request without a form is refused from elsewhere too, and without a word of where from', async () => {
	const foreign: Record<string, string>[] = [{}, { origin: 'http://elsewhere.example' }];
	for (const origin of foreign) {
		const response = await fetch(`${server.address}/intake/open`, {
			method: 'POST',
			headers: origin
		});
		expect(response.status).toBe(403);
	}
	// From its own page it is only asked to sign in.
	const own = await fetch(`${server.address}/intake/open`, {
		method: 'POST',
		headers: { origin: server.address }
	});
	expect(own.status).toBe(401);
});

test('ORIGIN names the address behind a proxy, whatever name the server is reached by', async () => {
	const named = await startServer({ env: { ORIGIN: 'https://roastery.example' } });
	expect(await postStatus({ origin: 'https://roastery.example' }, named)).toBe(LET_IN);
	expect(await postStatus({ origin: named.address }, named)).toBe(403);
	await named.stop();
});

test('HOST_HEADER takes the name that a proxy passes on', async () => {
	const named = await startServer({ env: { HOST_HEADER: 'x-forwarded-host' } });
	const passed = { 'x-forwarded-host': 'roastery.example', 'x-forwarded-proto': 'https' };
	expect(await postStatus({ origin: 'https://roastery.example', ...passed }, named)).toBe(LET_IN);
	expect(await postStatus({ origin: named.address, ...passed }, named)).toBe(403);
	await named.stop();
});

test('a post of 20 MB is taken whole, one that says 65 MB is refused', async () => {
	const megabyte = 1024 * 1024;
	expect(await sizeStatus(`login=ana&more=${'x'.repeat(20 * megabyte)}`)).toBe(LET_IN);
	expect(await sizeStatus('login=ana', 65 * megabyte)).toBe(413);
});

/** Status of a form post; `length` is what it claims to hold. */
function sizeStatus(body: string, length = body.length): Promise<number | undefined> {
	return new Promise((done, fail) => {
		const headers = {
			'content-type': 'application/x-www-form-urlencoded',
			'content-length': length,
			accept: 'text/html',
			origin: server.address
		};
		const post = request(server.address + FORM, { method: 'POST', headers }, (response) => {
			response.resume();
			done(response.statusCode);
			if (length > body.length) post.destroy();
		});
		post.on('error', fail);
		post.write(body);
		if (length === body.length) post.end();
	});
}

test('told to stop, it leaves with 0', async () => {
	const other = await startServer();
	await (await fetch(other.address)).arrayBuffer();
	expect(await other.stop()).toBe(0);
});

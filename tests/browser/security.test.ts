import { globSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isOpen, mayOpen } from '#lib/domain/access/places.ts';
import { ROLES, type Role } from '#lib/domain/access/role.ts';
import { perform } from '#lib/server/commands/act.ts';
import { makeToken } from '#lib/server/commands/changeOwnAccount.ts';
import { setUpOwner } from '#lib/server/commands/makeAccount.ts';
import { openDatabase } from '#lib/server/db/client.ts';
import { findUser } from '#lib/server/store/people.ts';
import { startServer, type TestServer } from '#support/server.ts';
import { cookieHeader, signedIn } from '#support/session.ts';
import { arrivedLot, done, setUpRoastery } from '#support/smallRoastery.ts';
import { owner } from '#support/actors.ts';
import { ROOT } from '../../src/cli/support/build.ts';

/** What the built server answers to strangers, to each role, and what every answer tells the browser. */

const PASSWORD = 'a long way to release';

let server: TestServer;
const sessions = new Map<Role, string>();
let token: string;

beforeAll(async () => {
	server = await startServer();
	const database = await openDatabase({ url: server.databaseUrl });
	const now = Date.now();
	done(
		await setUpOwner(
			{ database, now },
			{ login: 'nell', name: 'Nell', password: PASSWORD, browser: 'test' }
		)
	);
	await setUpRoastery({ database, now, actor: owner('Nell') });
	await arrivedLot({ database, now, actor: owner('Nell') }, 'A-1');
	const { id: userId, name, role } = (await findUser(database.orm, 'nell'))!;
	const act = { database, now, actor: { userId, name, role } };
	const asked = { name: 'test', scope: 'read', days: 30 };
	token = done(await perform(act, (deed) => makeToken(deed, asked))).secret;
	await database.close();
	for (const each of ROLES) sessions.set(each, await signedIn(server.databaseUrl, each));
});
afterAll(async () => {
	await server.stop();
});

const get = (path: string, headers: Record<string, string> = {}) =>
	fetch(server.address + path, { redirect: 'manual', headers });
const as = (role: Role) => cookieHeader(sessions.get(role)!);

/** Every folder that answers, as an address with parts in brackets. */
const folders = [
	...new Set(
		globSync('src/routes/**/+{page,server}*.{svelte,ts}', { cwd: ROOT }).map(
			(path) => path.replace(/^src\/routes/, '').replace(/\/[^/]*$/, '') || '/'
		)
	)
].sort();
/** What is in brackets is made up. */
const filled = (folder: string, part: string) => folder.replace(/\[[^\]]+\]/g, part);
const routes = folders.map((folder) => filled(folder, '1'));
const closed = routes.filter((path) => !isOpen(path) && !path.startsWith('/api'));

describe('role by page: the server keeps the table of places', () => {
	it('there are pages to look at', () => expect(closed.length).toBeGreaterThan(20));

	it('/live, which a page listens to, tells a stranger so with 401', async () =>
		expect((await get('/live?after=0')).status).toBe(401));

	it.each(closed.filter((path) => path !== '/live'))(
		'%s asks a stranger to sign in',
		async (path) => {
			const response = await get(path);
			expect(response.status).toBe(303);
			const to = path === '/' ? '' : `?to=${encodeURIComponent(path)}`;
			expect(response.headers.get('location')).toBe(`/sign-in${to}`);
		}
	);

	describe.each(ROLES)('%s', (role) => {
		it.each(closed.filter((path) => path !== '/refused'))('%s', async (path) => {
			const response = await get(path, as(role));
			await response.arrayBuffer();
			const refused = response.headers.get('location')?.startsWith('/refused?') ?? false;
			expect({ path, refused }).toEqual({ path, refused: !mayOpen(role, path) });
			expect(response.headers.get('location') ?? '').not.toMatch(/^\/sign-in/);
			expect(response.status).toBeLessThan(500);
		});
	});

	it('whom the table keeps out is told so in plain words, with 403', async () => {
		const response = await get('/refused?from=%2Fsetup%2Fpeople', as('viewer'));
		expect(response.status).toBe(403);
		const text = await response.text();
		expect(text).toContain('This page is not for your role');
		expect(text).toContain('The page /setup/people is for owner; your role is viewer.');
	});

	it('a form of a page that the role may not open is refused, and one of a page that it may open says why', async () => {
		const post = (path: string, body: string) =>
			fetch(server.address + path, {
				method: 'POST',
				redirect: 'manual',
				headers: {
					...as('viewer'),
					origin: server.address,
					accept: 'text/html',
					'content-type': 'application/x-www-form-urlencoded'
				},
				body
			});
		expect((await post('/setup/people?/invite', 'name=Mo&role=owner')).status).toBe(403);
		const weighed = await post(
			'/lots/A-1?/movement',
			'movement-kind=received&movement-mass_kg=10&movement-at=2026-01-01T10:00'
		);
		expect(weighed.status).toBe(400);
		expect(await weighed.text()).toContain('Your role is viewer; this (record received)');
	});

	it.each(folders.filter((folder) => folder.includes('[')))(
		'%s answers whatever stands in its brackets, and never breaks',
		async (folder) => {
			for (const part of [
				'x',
				'0',
				'-1',
				'1e999',
				'2026-W99',
				'%00',
				'%27%22%3C',
				'%F0%9F%98%80'
			]) {
				const path = filled(folder, part);
				const response = await get(path, as('owner'));
				await response.arrayBuffer();
				expect({ path, broke: response.status >= 500 }).toEqual({ path, broke: false });
			}
		}
	);

	it('an address that leads nowhere is not found, for whoever is signed in', async () => {
		expect((await get('/nowhere', as('viewer'))).status).toBe(404);
		expect((await get('/nowhere')).status).toBe(303);
	});
});

describe('sessions and tokens', () => {
	async function signIn(body: Record<string, string>, headers: Record<string, string> = {}) {
		const isHttps = headers['x-forwarded-proto'] === 'https';
		return fetch(`${server.address}/sign-in`, {
			method: 'POST',
			redirect: 'manual',
			headers: {
				origin: isHttps ? server.address.replace('http:', 'https:') : server.address,
				'content-type': 'application/x-www-form-urlencoded',
				accept: 'text/html',
				...headers
			},
			body: new URLSearchParams({ login: 'nell', password: PASSWORD, code: '', ...body })
		});
	}

	it('signing in leads back to the page that was asked for, by a cookie that no script reads', async () => {
		const response = await signIn({ to: '/lots?q=A-1' });
		expect(response.status).toBe(303);
		expect(response.headers.get('location')).toBe('/lots?q=A-1');
		const cookie = response.headers.get('set-cookie')!;
		expect(cookie).toMatch(/^session=[\w-]{43};/);
		expect(cookie).toMatch(/HttpOnly/i);
		expect(cookie).toMatch(/SameSite=Lax/i);
		expect(cookie).not.toMatch(/Secure/i);
		const lots = await get('/lots', { cookie: cookie.split(';')[0]! });
		expect(lots.status).toBe(200);
	});

	it('behind https the cookie is secure and the way back stays on this site', async () => {
		const response = await signIn({ to: '//elsewhere.example' }, { 'x-forwarded-proto': 'https' });
		expect(response.headers.get('location')).toBe('/');
		expect(response.headers.get('set-cookie')).toMatch(/Secure/i);
	});

	it('a wrong password says what an unknown name says', async () => {
		const known = await signIn({ password: 'not the way to release' });
		const unknown = await signIn({ login: 'nobody' });
		expect([known.status, unknown.status]).toEqual([400, 400]);
		const words = /The name, the password or the code is not right/;
		expect(await known.text()).toMatch(words);
		expect(await unknown.text()).toMatch(words);
	});

	it.each(['', 'x', 'a'.repeat(43)])('a cookie of %j is nobody', async (value) => {
		expect((await get('/', { cookie: `session=${value}` })).status).toBe(303);
	});

	it('under /api only a token counts, elsewhere only a session', async () => {
		const bearer = { authorization: `Bearer ${token}` };
		expect((await get('/api/v1/nothing-here', as('owner'))).status).toBe(401);
		expect((await get('/api/v1/nothing-here', bearer)).status).toBe(404);
		expect((await get('/lots', bearer)).status).toBe(303);
		const wrong = { authorization: `Bearer ${token.slice(0, -1)}x` };
		expect((await get('/api/v1/nothing-here', wrong)).status).toBe(401);
	});
});

describe('what every answer tells the browser', () => {
	const ALWAYS = {
		'x-content-type-options': 'nosniff',
		'x-frame-options': 'DENY',
		'referrer-policy': 'same-origin'
	};
	it.each([
		['a page', '/lots', 200],
		['the way in', '/sign-in', 200],
		['a download', '/export/lots.csv', 200],
		['a paper', '/papers/lot/A-1.pdf', 200],
		['nothing there', '/nowhere', 404],
		['a refusal', '/refused?from=/', 403],
		['a file', '/icon.svg', 200],
		['the state of the server', '/healthz', 200]
	])('%s (%s)', async (_, path, status) => {
		const response = await get(path, as('owner'));
		expect(response.status).toBe(status);
		for (const [name, value] of Object.entries(ALWAYS))
			expect(response.headers.get(name)).toBe(value);
		expect(response.headers.get('permissions-policy')).toContain('camera=()');
		expect(response.headers.get('strict-transport-security')).toBe(null);
		if (path !== '/icon.svg')
			expect(response.headers.get('content-security-policy')).toContain("frame-ancestors 'none'");
	});

	it('a page’s policy lets its own scripts run by a nonce, new each time, and nothing inline', async () => {
		const nonces = [];
		for (const path of ['/lots', '/sign-in', '/nowhere']) {
			const response = await get(path, as('owner'));
			const policy = response.headers.get('content-security-policy')!;
			const scripts = /script-src ([^;]*)/.exec(policy)![1]!;
			expect(scripts).toMatch(/^'self' 'nonce-[^']+'$/);
			expect(policy).toContain("default-src 'none'");
			expect(policy).toContain("object-src 'none'");
			expect(policy).toContain("base-uri 'none'");
			expect(policy).toContain("form-action 'self'");
			expect(/style-src ([^;]*)/.exec(policy)![1]).not.toContain('unsafe-inline');
			const nonce = /nonce-([^']+)/.exec(scripts)![1]!;
			const tags = (await response.text()).match(/<script\b[^>]*>/g) ?? [];
			expect(tags.length).toBeGreaterThan(0);
			for (const tag of tags) expect(tag).toContain(`nonce="${nonce}"`);
			nonces.push(nonce);
		}
		expect(new Set(nonces).size).toBe(nonces.length);
	});

	it('a download runs nothing', async () => {
		const response = await get('/export/lots.csv', as('owner'));
		expect(response.headers.get('content-security-policy')).toMatch(/^default-src 'none'/);
		expect(response.headers.get('content-disposition')).toMatch(/^attachment/);
	});

	it.each(['/sign-in', '/icon.svg', '/lots'])(
		'%s asks for https only where it is',
		async (path) => {
			const response = await get(path, { 'x-forwarded-proto': 'https' });
			expect(response.headers.get('strict-transport-security')).toBe('max-age=31536000');
		}
	);
});

describe('the demo without sign-in', () => {
	it('is not served to more than this machine', async () => {
		await expect(startServer({ env: { OPEN_AS: 'nell', HOST: '0.0.0.0' } })).rejects.toThrow(
			/OPEN_AS lets everyone who reaches the server act as nell.*HOST is 0\.0\.0\.0/
		);
	});

	it('lets in who asks from here by the name of here, says so on every page, and nobody else', async () => {
		const url = server.databaseUrl;
		const open = await startServer({ env: { OPEN_AS: 'nell', DATABASE_URL: url } });
		const ask = (headers: Record<string, string>) =>
			fetch(`${open.address}/lots`, { redirect: 'manual', headers });
		const page = await ask({});
		expect(page.status).toBe(200);
		expect(await page.text()).toContain('Demo: everyone on this machine acts as Nell (owner)');
		const viewer = await (await ask(as('viewer'))).text();
		expect(viewer).not.toContain('Demo: everyone');
		expect(viewer).toContain('A viewer');
		expect((await ask({ 'x-forwarded-for': '192.0.2.7' })).status).toBe(303);
		await open.stop();
		// By another name, as a page elsewhere would that points its name here.
		const named = await startServer({
			env: { OPEN_AS: 'nell', DATABASE_URL: url, ORIGIN: 'http://elsewhere.example' }
		});
		const foreign = await fetch(`${named.address}/lots`, { redirect: 'manual' });
		expect(foreign.status).toBe(303);
		await named.stop();
	});
});

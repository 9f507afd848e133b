import type { Browser, CDPSession, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { setUpOwner } from '#lib/server/commands/makeAccount.ts';
import { openDatabase, type Database } from '#lib/server/db/client.ts';
import { audit, passkey, passkeyChallenge } from '#lib/server/db/schema.ts';
import { owner } from '#support/actors.ts';
import { launchChromium } from '#support/chromium.ts';
import { axeViolations, openPage } from '#support/page.ts';
import { startServer, type TestServer } from '#support/server.ts';
import { done, setUpRoastery } from '#support/smallRoastery.ts';

/**
 * Passkeys in a real browser, with the virtual device that its debugger brings (WebAuthn domain of the Chrome
 * DevTools Protocol, which follows the W3C standard). The tests follow on each other in one page.
 */
const PASSWORD = 'a long way to release';

let server: TestServer;
let browser: Browser;
let page: Page;
let device: CDPSession;
let authenticatorId: string;
let database: Database;

beforeAll(async () => {
	[server, browser] = await Promise.all([startServer(), launchChromium()]);
	database = await openDatabase({ url: server.databaseUrl });
	const at = { database, now: Date.now() };
	done(await setUpOwner(at, { login: 'nell', name: 'Nell', password: PASSWORD, browser: 'test' }));
	await setUpRoastery({ ...at, actor: owner('Nell') });
	page = await openPage(browser, `${server.address}/sign-in`);
	device = await page.context().newCDPSession(page);
	await device.send('WebAuthn.enable');
	const made = await device.send('WebAuthn.addVirtualAuthenticator', {
		options: {
			...{ protocol: 'ctap2', transport: 'internal', hasResidentKey: true },
			...{ hasUserVerification: true, isUserVerified: true, automaticPresenceSimulation: true }
		}
	});
	({ authenticatorId } = made);
});
afterAll(async () => {
	await browser.close();
	await database.close();
	await server.stop();
});

const go = (path: string) => page.goto(server.address + path, { waitUntil: 'networkidle' });
const press = (name: string) => page.getByRole('button', { name, exact: true }).click();
const isVerified = (isUserVerified: boolean) =>
	device.send('WebAuthn.setUserVerified', { authenticatorId, isUserVerified });
const held = () => database.orm.select().from(passkey);
const noted = async (act: string) =>
	(await database.orm.select().from(audit)).filter((line) => line.act === act);

it('a passkey is added after the password, under a name, and the page has no faults', async () => {
	await page.getByLabel('Sign-in name').fill('nell');
	await page.getByLabel('Password').fill(PASSWORD);
	await press('Sign in');
	await page.waitForURL(`${server.address}/`);
	await go('/me');
	const section = page.locator('#passkeys');
	await section.getByLabel('What you call it').fill('Desk');
	await section.getByLabel('Password now').fill('not the way to release');
	await press('Add a passkey');
	expect(await section.getByRole('alert').innerText()).toContain('This is not your password.');
	await section.getByLabel('What you call it').fill('Desk');
	await section.getByLabel('Password now').fill(PASSWORD);
	await press('Add a passkey');
	await section.getByRole('rowheader', { name: 'Desk' }).waitFor();
	expect(await held()).toMatchObject([{ name: 'Desk', endedAt: null }]);
	expect(await database.orm.select().from(passkeyChallenge)).toEqual([]);
	expect(await noted('add own passkey')).toHaveLength(1);
	expect(await axeViolations(page)).toEqual([]);
});

it('it is renamed, and the audit has both names', async () => {
	await page.getByLabel('New name of Desk').fill('Desk lock');
	await press('Rename Desk');
	await page.getByRole('rowheader', { name: 'Desk lock' }).waitFor();
	const [line] = await noted('rename own passkey');
	expect(line!.detail).toEqual({ before: { passkey: 'Desk' }, after: { passkey: 'Desk lock' } });
});

it('it signs in where it was asked to lead, and counts its uses', async () => {
	await press('Sign out');
	await page.waitForURL('**/sign-in');
	await go('/sign-in?to=%2Flots');
	await press('Sign in with a passkey');
	await page.waitForURL('**/lots');
	const [only] = await held();
	expect(only!.counter).toBeGreaterThan(1);
	expect(only!.seenAt).not.toBeNull();
	expect((await noted('sign in')).at(-1)!.detail).toMatchObject({ passkey: 'Desk lock' });
});

it('without the device’s own check of who holds it, it does not', async () => {
	await page.context().clearCookies();
	await isVerified(false);
	await go('/sign-in');
	await press('Sign in with a passkey');
	await page.getByRole('alert').waitFor();
	expect(await page.getByRole('alert').innerText()).toContain('The device gave no passkey');
	await isVerified(true);
});

it('an answer counts once, to its own challenge, from this address alone', async () => {
	const call = async (fields: Record<string, string>, origin = server.address) => {
		const body = new FormData();
		for (const [name, value] of Object.entries(fields)) body.append(name, value);
		return fetch(`${server.address}/sign-in/passkey`, {
			...{ method: 'POST', body, headers: { origin } }
		});
	};
	// What the page sends is kept on its way, and sent again.
	const sent: string[] = [];
	page.on('request', (request) => {
		const answer = /name="answer"\r\n\r\n(.*)\r\n/.exec(request.postData() ?? '')?.[1];
		if (answer) sent.push(answer);
	});
	await go('/sign-in');
	await press('Sign in with a passkey');
	await page.waitForURL(`${server.address}/`);
	expect(sent).toHaveLength(1);
	expect((await call({ answer: sent[0]! })).status).toBe(400);
	expect((await call({ answer: sent[0]! }, 'https://elsewhere.example')).status).toBe(403);
	for (const answer of ['', 'null', '{}', '[]', '{"id":1}', '{"id":"x","response":{}}'])
		expect((await call({ answer })).status).toBe(400);
	// A copy of the device would count on from fewer uses than the server knows of.
	const { credentials } = await device.send('WebAuthn.getCredentials', { authenticatorId });
	await device.send('WebAuthn.removeCredential', {
		...{ authenticatorId, credentialId: credentials[0]!.credentialId }
	});
	await device.send('WebAuthn.addCredential', {
		...{ authenticatorId, credential: { ...credentials[0]!, signCount: 0 } }
	});
	await page.context().clearCookies();
	await go('/sign-in');
	await press('Sign in with a passkey');
	await page.getByRole('alert').waitFor();
	expect(await page.getByRole('alert').innerText()).toMatch(/not known here|Too many tries/);
});

it('without script the password is the way in, and no button promises more', async () => {
	const plain = await openPage(browser, `${server.address}/sign-in`, { script: false });
	expect(await plain.getByRole('button').allInnerTexts()).not.toContain('Sign in with a passkey');
	await plain.context().close();
});

it('once removed it opens nothing', async () => {
	await database.orm.update(passkey).set({ endedAt: Date.now() });
	await go('/sign-in');
	await press('Sign in with a passkey');
	await page.getByRole('alert').waitFor();
	expect(new URL(page.url()).pathname).toBe('/sign-in');
});

import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { launchChromium } from '#support/chromium.ts';
import { openPage } from '#support/page.ts';
import { startServer, type TestServer } from '#support/server.ts';
import { signedIn } from '#support/session.ts';

let server: TestServer;
let browser: Browser;

beforeAll(async () => {
	[server, browser] = await Promise.all([startServer(), launchChromium()]);
});
afterAll(async () => {
	await browser.close();
	await server.stop();
});

test('what is typed or chosen before the script arrives is kept when it does', async () => {
	// An account without a site is led to the form that sets one up.
	const session = await signedIn(server.databaseUrl, 'owner');
	const page = await openPage(browser, server.address, { session });
	let arrive = () => {};
	const arrival = new Promise<void>((resolve) => (arrive = resolve));
	await page.route('**/*.js', async (route) => {
		await arrival;
		await route.continue();
	});
	await page.goto(`${server.address}/welcome`, { waitUntil: 'commit' });
	const field = page.locator('main input[type="text"]').first();
	await field.fill('Typed early');
	const choice = page.locator('main select').first();
	await choice.selectOption({ index: 1 });
	const chosen = await choice.inputValue();
	arrive();
	// The router writes its history entry when it starts, just before it takes over the page.
	await page.waitForFunction(() => history.state !== null);
	await page.waitForLoadState('networkidle');
	expect(await field.inputValue()).toBe('Typed early');
	expect(await choice.inputValue()).toBe(chosen);
});

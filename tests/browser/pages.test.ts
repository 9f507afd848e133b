import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { launchChromium } from '#support/chromium.ts';
import { axeViolations, openPage, overflowPx, pageFaults, SCHEMES } from '#support/page.ts';
import { startServer, type TestServer } from '#support/server.ts';
import { PAGES } from './pages.ts';

/**
 * What holds on every page, seen on the demo roastery, which is loaded once. Two windows stay open for
 * all pages, one with client script and one without.
 */

const DESK = { width: 1440, height: 900 };
/** Narrow, and where wide tables just don't fit. */
const OTHER_WIDTHS = [1120, 390];

let server: TestServer;
let browser: Browser;
let page: Page;
let bare: Page;

beforeAll(async () => {
	[server, browser] = await Promise.all([startServer({ entry: 'demo' }), launchChromium()]);
	page = await openPage(browser, server.address);
	bare = await openPage(browser, server.address, { script: false });
});
afterAll(async () => {
	await browser.close();
	await server.stop();
});

it('the list of pages is sorted and has every place of the navigation', async () => {
	expect(PAGES).toEqual([...new Set(PAGES)].sort());
	const links = page.getByRole('navigation', { name: 'Main' }).getByRole('link');
	const places = await links.evaluateAll((all) => all.map((link) => link.getAttribute('href')!));
	expect(places.length).toBeGreaterThan(4);
	expect(PAGES).toEqual(expect.arrayContaining(places));
});

describe.each(PAGES)('%s', (path) => {
	let faultsBefore = 0;

	beforeAll(async () => {
		faultsBefore = pageFaults(page).length;
		await page.setViewportSize(DESK);
		await page.goto(server.address + path, { waitUntil: 'networkidle' });
	});

	it.each(SCHEMES)('has no violation in %s', async (colorScheme) => {
		await page.emulateMedia({ colorScheme });
		expect(await axeViolations(page)).toEqual([]);
	});

	it('says the same without client script, forms included', async () => {
		await bare.goto(server.address + path);
		for (const part of ['main h1', 'main tbody tr', 'main form', 'main form button']) {
			const counts = await Promise.all([page, bare].map((each) => each.locator(part).count()));
			expect(counts[1], part).toBe(counts[0]);
		}
		const heading = bare.locator('main h1').first();
		expect(await heading.innerText()).toBe(await page.locator('main h1').first().innerText());
		expect((await bare.locator('main').innerText()).length).toBeGreaterThan(60);
	});

	it('fits a small screen and a telephone, and nothing broke', async () => {
		for (const width of [DESK.width, ...OTHER_WIDTHS]) {
			await page.setViewportSize({ width, height: DESK.height });
			await expect.poll(() => overflowPx(page), { message: `px too wide at ${width}` }).toBe(0);
		}
		expect(pageFaults(page).slice(faultsBefore)).toEqual([]);
	});
});

it.each(['/lots', '/samples', '/tests'])(
	'%s: / goes to the filter, which filters',
	async (path) => {
		await page.setViewportSize(DESK);
		await page.goto(server.address + path, { waitUntil: 'networkidle' });
		await page.keyboard.press('/');
		const search = page.getByRole('searchbox').first();
		expect(await search.evaluate((element) => element === document.activeElement)).toBe(true);
		await page.keyboard.type('HR-151');
		await page.waitForURL(/q=HR-151/);
		const rows = page.getByRole('search').locator('xpath=following::table[1]//tbody/tr');
		const others = rows.filter({ hasNotText: 'HR-151' });
		await expect.poll(() => others.count(), { timeout: 20_000 }).toBe(0);
		expect(await rows.count()).toBeGreaterThan(0);
	}
);

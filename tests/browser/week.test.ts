import ICAL from 'ical.js';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { dayOf, instantAt, weekOf } from '#lib/domain/quantity/week.ts';
import { openDatabase } from '#lib/server/db/client.ts';
import { slot } from '#lib/server/db/schema.ts';
import { loadSlots } from '#lib/server/store/production.ts';
import { loadRoasters, requireSite } from '#lib/server/store/site.ts';
import { launchChromium } from '#support/chromium.ts';
import { openPage, pageFaults } from '#support/page.ts';
import { startServer, type TestServer } from '#support/server.ts';

/**
 * The week in a real browser, on the demo: a plan searched and kept, a what-if kept and taken back, a batch
 * recorded on the floor, a calendar fetched and ended. What is planned is next week's, so that the hour at
 * which this runs doesn't matter.
 */

/** How long anything may take to show, ms. */
const PATIENCE_MS = 60_000;

let server: TestServer;
let browser: Browser;
let page: Page;
/** `/week/2026-W49`. */
let nextWeek: string;

beforeAll(async () => {
	[server, browser] = await Promise.all([startServer({ entry: 'demo' }), launchChromium()]);
	page = await openPage(browser, `${server.address}/week`);
	page.setDefaultTimeout(PATIENCE_MS);
	nextWeek = (await page.getByRole('link', { name: 'Week after' }).getAttribute('href'))!;
});
afterAll(async () => {
	await browser.close();
	await server.stop();
});

const go = (path: string) => page.goto(server.address + path, { waitUntil: 'networkidle' });
const main = () => page.getByRole('main').innerText();
const press = (name: string | RegExp) => page.getByRole('button', { name }).click();
const eventually = <T>(see: () => Promise<T>) => expect.poll(see, { timeout: PATIENCE_MS });

async function inDatabase<T>(
	work: (database: Awaited<ReturnType<typeof openDatabase>>) => Promise<T>
): Promise<T> {
	const database = await openDatabase({ url: server.databaseUrl });
	try {
		return await work(database);
	} finally {
		await database.close();
	}
}
const weekName = () => nextWeek.slice('/week/'.length);
const starts = () =>
	inDatabase(async ({ orm }) =>
		(await loadSlots(orm, weekName()))
			.map(
				({ roasterId, startAt, lotId, chargeG }) => `${roasterId} ${startAt} ${lotId} ${chargeG}`
			)
			.sort()
	);

describe('a week', () => {
	test('is searched for a better plan, which is kept, and taken back', async () => {
		await go(nextWeek);
		const before = await starts();
		await press('Search for a better plan');
		await eventually(main).toContain('searched to the end');
		await press('Keep this plan');
		await eventually(main).toContain('Last act: kept the plan that the search found');
		await press('Take it back');
		await eventually(main).not.toContain('Last act: kept the plan');
		expect(await starts()).toEqual(before);
	});

	test('stands beside itself with a change, which is kept and taken back', async () => {
		await go(nextWeek);
		const before = await starts();
		await page.getByRole('link', { name: 'What if' }).click();
		await page.waitForURL('**/what-if');
		await page.getByText('More or fewer orders').click();
		const form = page.locator('form', { has: page.getByLabel('Weeks it lasts') });
		await form.getByRole('button', { name: 'Add it' }).click();
		await eventually(main).toContain('Say how many percent or kilograms more');
		await form.getByLabel('More, %').fill('20');
		await form.getByRole('button', { name: 'Add it' }).click();
		await page.waitForURL('**/what-if?change=orders**');
		await eventually(main).toContain('Orders of 20 % more of every product');
		const row = page.locator('tr', { hasText: 'Roaster hours in use' });
		const [planned, changed] = await Promise.all(
			[0, 1].map(async (i) => Number(await row.locator('td').nth(i).innerText()))
		);
		expect(changed).toBeGreaterThan(planned!);
		await press('Keep it');
		await page.waitForURL(`**${nextWeek}`);
		await eventually(main).toContain('Last act: kept a what-if (orders of 20 % more');
		expect(await starts()).not.toEqual(before);
		await press('Take it back');
		await eventually(main).not.toContain('Last act: kept a what-if');
		expect(await starts()).toEqual(before);
	});

	test('shows no fault in the browser', () => {
		expect(pageFaults(page)).toEqual([]);
	});
});

/** A batch planned for a moment ago, like the first one of next week, and where its sheet is. */
async function plannedNow(): Promise<string> {
	return inDatabase(async (database) => {
		const { timeZone } = await requireSite(database.orm);
		const [like] = (await loadSlots(database.orm, weekName())).filter(
			({ kind }) => kind === 'production'
		);
		const { id: _, ...row } = like!;
		const now = Date.now();
		const day = dayOf(now, timeZone);
		const startAt = Math.max(instantAt(day, 0, timeZone), now - 20 * 60_000);
		const endAt = startAt + row.endAt - row.startAt;
		const moved = { ...row, week: weekOf(day), startAt, endAt, locked: false };
		await database.write((tx) => tx.insert(slot).values(moved));
		const roaster = (await loadRoasters(database.orm)).find(({ id }) => id === row.roasterId)!;
		return `/floor/${roaster.code}/${day}`;
	});
}

test('a batch is recorded on the floor, once its weights are right', async () => {
	const sheet = await plannedNow();
	await go(sheet);
	const title = await page.locator('.next .big strong').innerText();
	const chargeKg = Number(await page.getByLabel('Charge, kg').inputValue());
	await page.getByLabel('Out, kg').fill(String(chargeKg + 1));
	await press('Record this batch');
	await eventually(main).toContain('The batch was not recorded');
	await page.getByLabel('Out, kg').fill(String(Math.round(chargeKg * 860) / 1000));
	await page.getByLabel('Note').fill('even colour');
	await press('Record this batch');
	await page.waitForURL('**?moved=**');
	await eventually(main).toContain('Recorded.');
	const done = page.locator('section', { has: page.getByRole('heading', { name: 'Recorded' }) });
	expect(await done.innerText()).toContain(title);
	expect(await done.innerText()).toContain('even colour');
	expect(await done.innerText()).toMatch(/loss 1[34]\.\d/);
});

test('a calendar is read by its address alone, and no more once it is ended', async () => {
	await go('/me/calendars');
	await page.getByLabel('A calendar of').selectOption({ index: 1 });
	await press('Make its address');
	const address = await page.getByRole('status').locator('code').innerText();
	const answer = await fetch(address);
	expect(answer.status).toBe(200);
	expect(answer.headers.get('content-type')).toContain('text/calendar');
	const events = new ICAL.Component(ICAL.parse(await answer.text())).getAllSubcomponents('vevent');
	const { id } = await inDatabase(async ({ orm }) => (await loadRoasters(orm))[0]!);
	const planned = (await starts()).filter((one) => one.startsWith(`${id} `));
	expect(events.length).toBeGreaterThanOrEqual(planned.length);
	expect(events.length).toBeGreaterThan(0);
	await press(/^End the calendar/);
	await eventually(main).toContain('No calendar');
	expect((await fetch(address)).status).toBe(404);
});

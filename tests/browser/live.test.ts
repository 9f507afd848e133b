import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { perform } from '#lib/server/commands/act.ts';
import { recordMeasurement } from '#lib/server/commands/recordMeasurement.ts';
import { openDatabase, type Database } from '#lib/server/db/client.ts';
import { findLot } from '#lib/server/store/lots.ts';
import { owner } from '#support/actors.ts';
import { launchChromium } from '#support/chromium.ts';
import { openPage, pageFaults } from '#support/page.ts';
import { startServer, type TestServer } from '#support/server.ts';
import { cookieHeader, signedIn } from '#support/session.ts';
import { arrivedLot, done, setUpRoastery } from '#support/smallRoastery.ts';

/** Changes reach open pages (jobs/liveChanges.ts), and take nothing out of anybody's hands. */

let server: TestServer;
let browser: Browser;
let database: Database;
let ada: string;
let ben: string;

beforeAll(async () => {
	[server, browser] = await Promise.all([startServer(), launchChromium()]);
	database = await openDatabase({ url: server.databaseUrl });
	const act = { database, now: Date.now(), actor: owner('Nell') };
	await setUpRoastery(act);
	for (const code of ['A-1', 'A-2']) await arrivedLot(act, code);
	ada = await signedIn(server.databaseUrl, 'operations', 'Ada');
	ben = await signedIn(server.databaseUrl, 'roasting', 'Ben');
});
afterAll(async () => {
	await browser?.close();
	await database?.close();
	await server?.stop();
});

let measured = 0;
const nextMoisture = () => 10 + ++measured / 10;

/** Ada measures a lot, as her page would send it. */
async function adaMeasures(code: string): Promise<string> {
	const moisture = `${nextMoisture()}`;
	const fields = {
		'measurement-stage': 'arrival',
		'measurement-at': '2026-11-20T10:00',
		'measurement-moisture_pct': moisture
	};
	const response = await fetch(`${server.address}/lots/${code}?/measurement`, {
		method: 'POST',
		redirect: 'manual',
		headers: { ...cookieHeader(ada), origin: server.address, accept: 'text/html' },
		body: new URLSearchParams(fields)
	});
	expect(response.status).toBe(303);
	return moisture;
}

/** Another process measures: this test, on the server's file. */
async function ottoMeasures(code: string): Promise<string> {
	const moisturePct = nextMoisture();
	const { id: lotId } = (await findLot(database.orm, code))!;
	const act = { database, now: Date.now(), actor: owner('Otto') };
	const others = {
		...{ waterActivity: null, densityGL: null, screen16UpPct: null, defectsPer300G: null }
	};
	const input = { lotId, stage: 'arrival' as const, at: act.now, moisturePct, ...others };
	done(await perform(act, (deed) => recordMeasurement(deed, input)));
	return `${moisturePct}`;
}

/** A page that listens. */
async function open(path: string, session: string): Promise<Page> {
	const page = await openPage(browser, server.address + path, { session });
	await page.locator('.live[data-listens=true]').waitFor({ state: 'attached' });
	return page;
}

const news = (page: Page) => page.locator('.live');

it('what one records another sees without asking, from this process and from another', async () => {
	const page = await open('/lots/A-1', ben);
	const first = await adaMeasures('A-1');
	await page.getByText(first).first().waitFor();
	await news(page)
		.getByText(/Changed by Ada at \d\d:\d\d; this is what it is now/)
		.waitFor();
	const second = await ottoMeasures('A-1');
	await page.getByText(second).first().waitFor();
	await news(page).getByText('Changed by Otto').waitFor();
	expect(pageFaults(page)).toEqual([]);
	await page.context().close();
});

it('another lot changes nothing here', async () => {
	const page = await open('/lots/A-1', ben);
	const before = await page.locator('main').innerText();
	await adaMeasures('A-2');
	// Told after the other, so that the other was told by then.
	const moisture = await adaMeasures('A-1');
	await page.getByText(moisture).first().waitFor();
	expect(before).not.toContain(moisture);
	expect(await news(page).innerText()).toContain('Ada');
	await page.context().close();
});

it('who is typing keeps what is typed, is told, and sees the change when asked for', async () => {
	const page = await open('/lots/A-1?act=measurement', ben);
	const field = page.locator('#field-measurement-density_g_l');
	await field.fill('712');
	const moisture = await adaMeasures('A-1');
	const show = news(page).getByRole('button', { name: 'Show' });
	await show.waitFor();
	expect(await news(page).innerText()).toMatch(/Changed by Ada at \d\d:\d\d\./);
	expect(await page.getByText(moisture).count()).toBe(0);
	await show.click();
	await page.getByText(moisture).first().waitFor();
	expect(await field.inputValue()).toBe('712');
	await page.context().close();
});

it('a page that is read at leisure says so and waits', async () => {
	const page = await open('/stock', ben);
	await adaMeasures('A-1');
	await news(page).getByRole('button', { name: 'Show' }).click();
	await news(page).getByText('this is what it is now').waitFor();
	await page.context().close();
});

/** The text of a stream until it ends or `isEnough`. */
async function readStream(session: string, isEnough: (text: string) => boolean): Promise<string> {
	const response = await fetch(`${server.address}/live?after=0`, {
		headers: cookieHeader(session)
	});
	expect(response.status).toBe(200);
	expect(response.headers.get('content-type')).toBe('text/event-stream');
	let text = '';
	for await (const chunk of response.body!.pipeThrough(new TextDecoderStream())) {
		text += chunk;
		if (isEnough(text)) break;
	}
	return text;
}

it('a stranger gets no stream, a role only the places that it may open', async () => {
	const stranger = await fetch(`${server.address}/live?after=0`, { redirect: 'manual' });
	expect(stranger.status).toBe(401);
	const text = await readStream(ben, (so) => so.includes('data:'));
	expect(text).toContain('"/lots');
	expect(text).not.toContain('/setup/people');
	expect(text).not.toContain('11.');
});

it('a stream ends when its session is ended', async () => {
	const gone = await signedIn(server.databaseUrl, 'quality', 'Cy');
	const ended = readStream(gone, () => false);
	const out = await fetch(`${server.address}/me?/sign_out`, {
		method: 'POST',
		redirect: 'manual',
		headers: { ...cookieHeader(gone), origin: server.address, accept: 'text/html' },
		body: new URLSearchParams()
	});
	expect(out.status).toBe(303);
	expect(await ended).toContain('retry');
});

it('a person has so many streams and no more', async () => {
	const many = await signedIn(server.databaseUrl, 'quality', 'Di');
	const control = new AbortController();
	const ask = () =>
		fetch(`${server.address}/live?after=0`, {
			headers: cookieHeader(many),
			signal: control.signal
		});
	const asked = [];
	for (let i = 0; i < 13; i++) asked.push((await ask()).status);
	expect(asked).toEqual([...Array<number>(12).fill(200), 429]);
	control.abort();
});

it('a server with open streams stops when it is told to', async () => {
	const other = await startServer();
	const db = await openDatabase({ url: other.databaseUrl });
	await setUpRoastery({ database: db, now: Date.now(), actor: owner('Nell') });
	await db.close();
	const session = await signedIn(other.databaseUrl, 'owner');
	const response = await fetch(`${other.address}/live?after=0`, { headers: cookieHeader(session) });
	const text = response.text();
	expect(await other.stop()).toBe(0);
	// Ended in order, not cut.
	expect(await text).toContain('retry');
});

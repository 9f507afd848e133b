import { afterAll, beforeAll, expect, test } from 'vitest';
import type { Browser } from 'playwright-core';
import { launchChromium } from '#support/chromium.ts';
import { axeViolations, openPage, overflowPx, pageFaults } from '#support/page.ts';

/** The helpers that judge pages do find what is wrong with one. */
let browser: Browser;

beforeAll(async () => {
	browser = await launchChromium();
});
afterAll(async () => {
	await browser.close();
});

function made(body: string): string {
	const html = `<!doctype html><html lang="en"><head><title>Made up</title></head><body>${body}</body></html>`;
	return `data:text/html,${encodeURIComponent(html)}`;
}

test('axe finds a picture without words and says where', async () => {
	const page = await openPage(
		browser,
		made('<main><h1>Lots</h1><img src="data:," id="bean"></main>')
	);
	const found = await axeViolations(page);
	expect(found).toHaveLength(1);
	expect(found[0]).toMatch(/^image-alt \(critical\): .* at #bean in <img/);
	await page.context().close();
});

test('axe finds nothing on a sound page, light or dark', async () => {
	for (const scheme of ['light', 'dark'] as const) {
		const page = await openPage(browser, made('<main><h1>Lots</h1><p>None yet.</p></main>'), {
			scheme
		});
		expect(await axeViolations(page)).toEqual([]);
		expect(pageFaults(page)).toEqual([]);
		await page.context().close();
	}
});

test('a page wider than its window is measured', async () => {
	const wide = await openPage(browser, made('<div style="width: 500px; margin: -8px">x</div>'), {
		width: 390
	});
	expect(await overflowPx(wide)).toBeGreaterThan(90);
	await wide.context().close();
});

test('a script error is kept', async () => {
	const page = await openPage(browser, made('<script>throw new Error("spilt")</script>'));
	expect(pageFaults(page)).toEqual(['script error: spilt']);
	await page.context().close();
});

test('colour scheme and script can be chosen', async () => {
	const style =
		'<style>p { display: none } @media (prefers-color-scheme: dark) { p { display: block } }</style>';
	const dark = await openPage(browser, made(`${style}<p>dark</p>`), { scheme: 'dark' });
	expect(await dark.locator('p').isVisible()).toBe(true);
	await dark.context().close();
	const plain = await openPage(browser, made('<noscript>plain</noscript>'), { script: false });
	expect(await plain.locator('body').innerText()).toBe('plain');
	await plain.context().close();
});

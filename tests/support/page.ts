import axe, { type AxeResults } from 'axe-core';
import type { Browser, Page } from 'playwright-core';

/** Desk, tablet and telephone, CSS pixels. */
export const WIDTHS = [1440, 820, 390] as const;
export const SCHEMES = ['light', 'dark'] as const;

export interface PageLook {
	readonly width?: (typeof WIDTHS)[number];
	readonly scheme?: (typeof SCHEMES)[number];
	/** False shows the page as it is without client script. */
	readonly script?: boolean;
	/** Value of a session's cookie (support/session.ts): who looks. */
	readonly session?: string;
}

/**
 * Opens an address in a browser context of its own and waits until the page has settled. Script errors
 * and failed requests are kept for `pageFaults`. Close it with `page.context().close()`.
 */
export async function openPage(
	browser: Browser,
	address: string,
	{ width = 1440, scheme = 'light', script = true, session }: PageLook = {}
): Promise<Page> {
	const context = await browser.newContext({
		viewport: { width, height: width < 500 ? 844 : 900 },
		colorScheme: scheme,
		javaScriptEnabled: script,
		reducedMotion: 'reduce',
		acceptDownloads: true
	});
	if (session !== undefined)
		await context.addCookies([{ name: 'session', value: session, url: new URL(address).origin }]);
	const page = await context.newPage();
	watch(page);
	await page.goto(address, { waitUntil: 'networkidle' });
	return page;
}

const faults = new WeakMap<Page, string[]>();

function watch(page: Page): void {
	const found: string[] = [];
	faults.set(page, found);
	page.on('pageerror', (error) => found.push(`script error: ${error.message}`));
	page.on('console', (message) => {
		if (message.type() === 'error') found.push(`console: ${message.text()}`);
	});
	page.on('response', (response) => {
		if (response.status() >= 400) found.push(`${response.status()}: ${response.url()}`);
	});
}

/** Script errors, console errors and failed requests since the page was opened, in words. */
export function pageFaults(page: Page): readonly string[] {
	return faults.get(page) ?? [];
}

/**
 * What axe finds on the page as it stands, one line an element: rule, what is wrong, where. Runs
 * through the debugger, so the page's content-security policy stays in force.
 */
export async function axeViolations(page: Page): Promise<readonly string[]> {
	await page.evaluate(axe.source);
	const results = await page.evaluate<AxeResults>(
		'axe.run(document, { resultTypes: ["violations"] })'
	);
	return results.violations.flatMap(({ id, impact, help, nodes }) =>
		nodes.map((node) => `${id} (${impact}): ${help} at ${node.target.join(' ')} in ${node.html}`)
	);
}

/** Pixels by which the page is wider than its window; 0 when it doesn't scroll sideways. */
export async function overflowPx(page: Page): Promise<number> {
	return page.evaluate(
		() => document.documentElement.scrollWidth - document.documentElement.clientWidth
	);
}

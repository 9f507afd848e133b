import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { launchChromium } from './chromium.ts';
import { openPage, SCHEMES, WIDTHS } from './page.ts';

/**
 * Pictures of pages, for looking and for the README:
 * `node tests/support/pictures.ts --base http://localhost:4173 --to /tmp/look [--width 1440,390]
 * [--scheme light,dark] [--window] / /lots /week`
 * Whole pages unless `--window`; one PNG a page, width and scheme, e.g. `lots-390-dark.png`.
 */
const { values, positionals } = parseArgs({
	allowPositionals: true,
	options: {
		base: { type: 'string', default: 'http://localhost:4173' },
		to: { type: 'string' },
		width: { type: 'string', default: WIDTHS.join() },
		scheme: { type: 'string', default: SCHEMES.join() },
		window: { type: 'boolean', default: false }
	}
});
if (values.to === undefined) throw new Error('--to FOLDER is missing: where the pictures go.');
mkdirSync(values.to, { recursive: true });
const widths = WIDTHS.filter((width) => values.width.split(',').includes(String(width)));
const schemes = SCHEMES.filter((scheme) => values.scheme.split(',').includes(scheme));

const browser = await launchChromium();
try {
	for (const path of positionals.length > 0 ? positionals : ['/'])
		for (const width of widths)
			for (const scheme of schemes) await takePicture(path, width, scheme, values.to);
} finally {
	await browser.close();
}

async function takePicture(
	path: string,
	width: (typeof WIDTHS)[number],
	scheme: (typeof SCHEMES)[number],
	folder: string
): Promise<void> {
	const page = await openPage(browser, new URL(path, values.base).href, { width, scheme });
	const name = path.replace(/[^a-z0-9]+/gi, '-').replace(/^-|-$/g, '') || 'overview';
	const file = join(folder, `${name}-${width}-${scheme}.png`);
	await page.screenshot({ path: file, fullPage: !values.window });
	console.log(file);
	await page.context().close();
}

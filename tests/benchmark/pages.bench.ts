import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { buildIfNeeded, ROOT } from '../../src/cli/support/build.ts';
import { startServer } from '../support/server.ts';
import { interleave, quantile, type Benchmark, type Figure, type Skipped } from './harness.ts';

/** A file that the server only passes on: what a request costs before any page is made. */
const STATIC_FILE = '/icon.svg';
const ROUNDS = 40;
const GOAL_RATIO = 50;

/** How long the slowest main page takes on the demo roastery, against a static file of that server. */
export const benchmark: Benchmark = {
	name: 'page times',
	unit: 'ms',
	goal: `p95 of the slowest page <= ${GOAL_RATIO} x p95 of a static file`,
	async run() {
		if (!existsSync(join(ROOT, 'src/cli/demo.ts'))) return { skipped: 'there is no demo yet' };
		await buildIfNeeded(console.error);
		const server = await startServer({ entry: 'demo' });
		try {
			return await measure(server.address);
		} finally {
			await server.stop();
		}
	}
};

async function measure(address: string): Promise<Figure | Skipped> {
	const pages = await mainPages(address);
	if (pages.length === 0) return { skipped: 'the overview has no navigation yet' };
	for (const path of pages)
		if ((await fetch(address + path)).status === 404) return { skipped: `there is no ${path} yet` };
	const works = [STATIC_FILE, ...pages].map((path) => () => text(address + path));
	const [fileMs = [], ...pageMs] = await interleave(works, ROUNDS);
	const p95 = pageMs.map((ms) => quantile(ms, 0.95));
	const value = Math.max(...p95);
	const reference = quantile(fileMs, 0.95);
	const each = pages.map((path, index) => `${path} ${p95[index]?.toFixed(1)}`).join(', ');
	return {
		value,
		reference,
		ratio: value / reference,
		holds: value / reference <= GOAL_RATIO,
		note: `p95 of ${ROUNDS} requests by turns, one at a time, ms: ${each}`
	};
}

/** The overview, every page of its navigation, and the first lot. */
async function mainPages(address: string): Promise<readonly string[]> {
	const nav = /<nav[\s\S]*?<\/nav>/.exec(await text(`${address}/`))?.[0] ?? '';
	const linked = [...nav.matchAll(/href="(\/[^"#?]*)"/g)].map((match) => match[1] ?? '/');
	if (linked.length === 0) return [];
	const lots = await (await fetch(`${address}/lots`)).text();
	const firstLot = /href="(\/lots\/[^"#?]+)"/.exec(lots)?.[1];
	return [...new Set(['/', ...linked, ...(firstLot ? [firstLot] : [])])];
}

/** The body at an address. Throws unless the answer is 200. */
async function text(address: string): Promise<string> {
	const response = await fetch(address);
	const body = await response.text();
	if (response.status !== 200) throw new Error(`${address} answered ${response.status}`);
	return body;
}

import { openDatabase } from '#lib/server/db/client.ts';
import { buildIfNeeded } from '../../src/cli/support/build.ts';
import { startServer } from '../support/server.ts';
import { growToTenYears } from '../support/tenYears.ts';
import { interleave, quantile, timeMs, type Benchmark, type Figure } from './harness.ts';

const PAGES = [
	...['/', '/lots', '/lots/HR-151', '/lots/HR-113', '/tests', '/tests/HR-151/3', '/samples'],
	...['/cost', '/cost?by=lot', '/cost?lot=HR-141&period=all', '/cost?view=landed', '/cost/trend'],
	...['/cost/ahead', '/cost/ahead?view=price', '/cost/production', '/cost/accounts'],
	...['/stock', '/stock/close', '/stock/cover', '/demand', '/week', '/floor', '/setup/rates']
] as const;
const ROUNDS = 10;
const GOAL_RATIO = 2;

/** Each page after ten years (5,000 lots, 240,000 batches, 25,000 logs) against the same page of the demo. */
export const benchmark: Benchmark = {
	name: 'pages at ten years',
	unit: 'ms',
	goal: `p95 of every page <= ${GOAL_RATIO} x p95 of the same page on the demo`,
	slow: true,
	async run() {
		await buildIfNeeded(console.error);
		const demo = await startServer({ entry: 'demo' });
		const tenYears = await startServer({ entry: 'demo' });
		try {
			const database = await openDatabase({ url: tenYears.databaseUrl });
			await growToTenYears(database);
			await database.close();
			return await measure(demo.address, tenYears.address);
		} finally {
			await Promise.all([demo.stop(), tenYears.stop()]);
		}
	}
};

async function measure(demo: string, tenYears: string): Promise<Figure> {
	const firstMs = await timeMs(() => page(`${tenYears}/cost`));
	const works = PAGES.flatMap((path) => [demo, tenYears].map((at) => () => page(at + path)));
	const times = await interleave(works, ROUNDS, 1);
	const p95 = times.map((ms) => quantile(ms, 0.95));
	const found = PAGES.map((path, i) => {
		const [reference, value] = [p95[2 * i]!, p95[2 * i + 1]!];
		return { path, reference, value, ratio: value / reference };
	}).sort((a, b) => b.ratio - a.ratio);
	const { path, ...worst } = found[0]!;
	const each = found.map(
		(one) => `${one.path} ${one.value.toFixed(0)} (x ${one.ratio.toFixed(1)})`
	);
	const within = found.filter(({ ratio }) => ratio <= GOAL_RATIO).length;
	return {
		...worst,
		holds: within === found.length,
		note: `the worst, ${path}; ${within} of ${found.length} within; p95 of ${ROUNDS} by turns, one at a time, ms (ratio): ${each.join(', ')}; the first /cost after the start, which costs every lot, took ${(firstMs / 1000).toFixed(1)} s`
	};
}

/** Throws unless the answer is 200. */
async function page(address: string): Promise<void> {
	const response = await fetch(address);
	await response.text();
	if (response.status !== 200) throw new Error(`${address} answered ${response.status}`);
}

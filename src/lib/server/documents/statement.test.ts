import fc from 'fast-check';
import { readSheet } from 'read-excel-file/node';
import { describe, expect, it } from 'vitest';
import { formatMoney } from '#lib/domain/quantity/money.ts';
import { pdfPages } from '#support/pdfText.ts';
import { randomTests } from '#support/randomTests.ts';
import {
	CUTS,
	NO_FILTER,
	statementView,
	testView,
	type Cut,
	type StatementView
} from '../views/cost.ts';
import type { ListedTest } from '../views/costing.ts';
import { statementSheets } from '../views/export/statement.ts';
import { pdfBytes } from './pdf.ts';
import { statementPaper } from './statement.ts';
import { xlsxBytes } from './xlsx.ts';

const SITE = { name: 'Corner Drum', timeZone: 'Europe/London', currency: 'GBP' } as never;

/** A statement over any tests, and those tests, as its papers take them. */
function paperOf(tests: readonly ListedTest[], cut: Cut) {
	const costing = { currency: 'GBP', landed: new Map(), tests, uncosted: [] };
	const dates = { today: '2026-11-25', from: null, to: '2026-11-25', openFrom: null };
	const picked = { site: SITE, costing, ...dates };
	const statement: StatementView = statementView(
		{ cut, filter: NO_FILTER, period: 'all' },
		{ ...picked, tests, weeks: [] },
		[],
		[]
	);
	const listed = tests.map((test) => testView(test, () => ({ ppm: 143_000, because: 'recipe 1' })));
	return { statement, tests: listed, madeAt: '25 Nov 2026, 10:00' };
}

/** Rows of a sheet by its headings, money in pence and masses in grams as far as a double tells. */
async function rowsOf(bytes: Uint8Array, sheet: string) {
	const [headings = [], ...rows] = await readSheet(Buffer.from(bytes), sheet);
	return rows.map((row) => new Map(headings.map((name, i) => [String(name), row[i]])));
}

const MONEY = ['green', 'gas', 'power', 'labour', 'machine', 'quality', 'cost', 'recovered', 'net'];
const pence = (row: Map<string, unknown>, column: string) =>
	Math.round(Number(row.get(column) ?? 0) * 100);
const added = (rows: readonly Map<string, unknown>[], column: string) =>
	rows.reduce((all, row) => all + pence(row, column), 0);

describe('the workbook, read back by another library', () => {
	it('adds up to the penny in every cut, row by row and test by test', async () => {
		await fc.assert(
			fc.asyncProperty(randomTests(15), fc.constantFrom(...CUTS), async (tests, cut) => {
				const paper = paperOf(tests, cut);
				const bytes = await xlsxBytes(statementSheets(paper));
				const rows = await rowsOf(bytes, 'Statement');
				const each = await rowsOf(bytes, 'Tests');
				const total = rows.at(-1)!;
				expect(each).toHaveLength(tests.length);
				for (const column of [...MONEY, 'margin_displaced_estimate']) {
					expect(added(rows.slice(0, -1), column), column).toBe(pence(total, column));
					expect(added(each, column), column).toBe(pence(total, column));
				}
				const { net, cost } = paper.statement.total;
				expect([pence(total, 'net'), pence(total, 'cost')]).toEqual([net.minor, cost.minor]);
				const back = await rowsOf(bytes, 'Recovered');
				expect(added(back, 'value')).toBe(pence(total, 'recovered'));
			}),
			{ numRuns: 8 }
		);
	});

	it('holds numbers as numbers, days as days, and text that looks like a formula as text', async () => {
		const [test] = fc.sample(randomTests(1), { numRuns: 1, seed: 7 })[0]!;
		const supplied = { ...test!, supplier: '=1+2', day: '2026-03-09' };
		const bytes = await xlsxBytes(statementSheets(paperOf([supplied], 'supplier')));
		const [row] = await rowsOf(bytes, 'Tests');
		expect(row!.get('supplier')).toBe('=1+2');
		expect(row!.get('roasted_on')).toEqual(new Date('2026-03-09T00:00:00Z'));
		expect(typeof row!.get('green_kg')).toBe('number');
		expect((await rowsOf(bytes, 'Statement'))[0]!.get('supplier')).toBe('=1+2');
	});
});

describe('the paper, read back', () => {
	it.each(CUTS)('has the sums of every row and test and the same total, cut by %s', async (cut) => {
		const tests = fc.sample(randomTests(9), { numRuns: 1, seed: 3 })[0]!;
		const words = (minor: number) =>
			formatMoney({ minor, currency: 'GBP' }).replace('GBP ', '').replace('-', '−');
		const paper = paperOf(tests, cut);
		const text = (await pdfPages(await pdfBytes(statementPaper(paper)))).join(' ');
		const { total, lines } = paper.statement;
		const sums = [total.cost, total.recovered, total.net].map(({ minor }) => words(minor));
		// In the row of sums of the cut and in that of the tests, side by side.
		expect(text.split(` ${sums.join(' ')} `)).toHaveLength(3);
		for (const row of [...lines, ...tests]) {
			const side = [row.cost, row.recovered, row.net].map(({ minor }) => words(minor));
			expect(text).toContain(` ${side.join(' ')} `);
		}
	});
});

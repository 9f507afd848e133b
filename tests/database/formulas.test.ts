import { globSync } from 'node:fs';
import { readSheet } from 'read-excel-file/node';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Act } from '#lib/server/commands/act.ts';
import { importTables, type RoasteryFiles } from '#lib/server/commands/importTables.ts';
import { csvBytes, csvText } from '#lib/server/documents/csv.ts';
import { xlsxBytes } from '#lib/server/documents/xlsx.ts';
import { parseCsv } from '#lib/server/imports/csv.ts';
import type { TableFile } from '#lib/server/imports/tables.ts';
import { CUTS, loadStatement, loadStatementPaper, NO_FILTER } from '#lib/server/views/cost.ts';
import { exportEntries, loadExport } from '#lib/server/views/export/all.ts';
import {
	journalTable,
	statementSheets,
	statementTable
} from '#lib/server/views/export/statement.ts';
import type { ExportTable } from '#lib/server/views/export/table.ts';
import { loadJournal } from '#lib/server/views/journal.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { fewLots } from '#support/fewLots.ts';
import { hostileRoastery } from '#support/hostileRoastery.ts';
import { done } from '#support/smallRoastery.ts';
import { ROOT } from '../../src/cli/support/build.ts';

/** A roastery whose every name is a formula: what leaves it runs in no spreadsheet, and comes in again. */

const NOW = Date.UTC(2026, 10, 25, 10);
const LOTS = ['HR-135', 'HR-141'];

/** What stands before the text of each column: every character that makes a formula is among them. */
const HOSTILE: Readonly<Record<string, string>> = {
	...{ lot: '=', replaces: '=', by: '+', planned_by: '+', roasted_by: '+', opened_by: '+' },
	...{ closed_by: '+', roasting_by: '+', quality_by: '+', key_seen_by: '+' },
	...{ name: '=HYPERLINK("x")', producer: '@', supplier: '-', variety: '＝', note: '=cmd|x!A0 ' },
	...{ reason: "'=", change: '-1+', purpose: '@SUM(1)', descriptors: '=1;', source: '+1' }
};

let first: TestDatabase;
let files: RoasteryFiles;
const act = (database: TestDatabase): Act => ({
	database: database.database,
	now: NOW,
	actor: owner('Test')
});

beforeAll(async () => {
	first = await newDatabase();
	files = hostileRoastery(fewLots(LOTS), HOSTILE);
	done(await importTables(act(first), files));
});
afterAll(() => first.remove());

const NUMBER = /^-?\d+(\.\d+)?(e[+-]?\d+)?$/;

/** Cells of a CSV that a spreadsheet would work out, and how many were kept from that. */
function cellsOf(table: ExportTable) {
	const cells = parseCsv(csvText(table), ',').rows.flat();
	return {
		live: cells.filter((cell) => /^[=+\-@\t\r\n＝]/.test(cell) && !NUMBER.test(cell)),
		disarmed: cells.filter((cell) => /^'+[=+\-@＝]/.test(cell)).length
	};
}

describe('CSV', () => {
	it.each(exportEntries().map(({ file }) => file))('%s runs nothing', async (file) => {
		expect(cellsOf((await loadExport(first.database.orm, NOW, file))!).live).toEqual([]);
	});

	it('the lots are full of what was disarmed', async () => {
		const lots = (await loadExport(first.database.orm, NOW, 'lots.csv'))!;
		expect(cellsOf(lots).disarmed).toBeGreaterThanOrEqual(5 * LOTS.length);
	});

	it.each(CUTS)('the statement by %s runs nothing', async (cut) => {
		const question = { cut, filter: NO_FILTER, period: 'all' };
		const statement = await loadStatement(first.database.orm, NOW, question);
		expect(statement.lines.length).toBeGreaterThan(0);
		expect(cellsOf(statementTable(statement)).live).toEqual([]);
	});

	it('the journal runs nothing', async () => {
		const question = { cut: 'lot' as const, filter: NO_FILTER, period: 'all' };
		const { lines, currency } = await loadJournal(first.database.orm, NOW, question);
		expect(lines.length).toBeGreaterThan(0);
		expect(cellsOf(journalTable(lines, currency)).live).toEqual([]);
	});
});

it('a workbook has text where its names are formulas, and numbers where numbers are', async () => {
	const question = { cut: 'lot' as const, filter: NO_FILTER, period: 'all' };
	const paper = await loadStatementPaper(first.database.orm, NOW, question);
	const sheets = statementSheets(paper);
	const bytes = Buffer.from(await xlsxBytes(sheets));
	let formulas = 0;
	for (const { name, table } of sheets) {
		const rows = await readSheet(bytes, name);
		for (const [i, row] of table.rows.entries())
			for (const [j, cell] of row.entries()) {
				const read = rows[i + 1]![j] ?? null;
				if (cell !== null && typeof cell !== 'string') expect(read).toBe(Number(cell.digits));
				else if (/^[=+\-@]/.test(cell ?? '')) {
					expect(read).toBe(cell);
					formulas++;
				}
			}
	}
	expect(formulas).toBeGreaterThan(LOTS.length);
});

it('what comes in again has the names it had', async () => {
	const tables: Partial<Record<TableFile, Uint8Array>> = {};
	const importable = exportEntries().filter((entry) => entry.comesIn);
	for (const { file } of importable)
		tables[file as TableFile] = csvBytes((await loadExport(first.database.orm, NOW, file))!);
	const second = await newDatabase();
	done(await importTables(act(second), { ...files, tables }));
	for (const { file } of exportEntries()) {
		const [before, after] = await Promise.all(
			[first, second].map(async ({ database }) => {
				const table = (await loadExport(database.orm, NOW, file))!;
				return csvText({ ...table, rows: [] }) + csvText(table).split('\r\n').sort().join('\n');
			})
		);
		expect(after, file).toBe(before);
	}
	await second.remove();
});

it('no other address gives a spreadsheet', () => {
	const found = globSync('src/routes/**/*.{csv,xlsx}', { cwd: ROOT }).sort();
	expect(found).toEqual([
		'src/routes/cost/journal.csv',
		'src/routes/cost/statement.csv',
		'src/routes/cost/statement.xlsx',
		'src/routes/export/[table].csv'
	]);
});

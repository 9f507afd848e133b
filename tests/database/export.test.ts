import { afterAll, beforeAll, expect, test } from 'vitest';
import { parseCsv } from '#lib/server/imports/csv.ts';
import { importTables, type RoasteryFiles } from '#lib/server/commands/importTables.ts';
import type { Database } from '#lib/server/db/client.ts';
import { csvBytes, csvText } from '#lib/server/documents/csv.ts';
import type { TableFile } from '#lib/server/imports/tables.ts';
import { exportEntries, loadExport } from '#lib/server/views/export/all.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { fewLots } from '../support/fewLots.ts';

/** What is taken out can be taken in again, and says the same. */

const NOW = Date.UTC(2026, 10, 25, 10, 0);
const LOTS = ['HR-133', 'HR-135', 'HR-137', 'HR-141', 'HR-151'];

const opened: TestDatabase[] = [];
let first: Database;
let files: RoasteryFiles;

async function databaseOf(roastery: RoasteryFiles): Promise<Database> {
	const made = await newDatabase();
	opened.push(made);
	const { database } = made;
	const outcome = await importTables({ database, now: NOW, actor: owner('Test') }, roastery);
	expect(outcome).toMatchObject({ ok: true });
	return database;
}

beforeAll(async () => {
	files = fewLots(LOTS);
	first = await databaseOf(files);
}, 300_000);

afterAll(async () => {
	for (const made of opened) await made.remove();
});

const importable = exportEntries()
	.filter((entry) => entry.comesIn)
	.map((entry) => entry.file as TableFile);

/** Heading and rows in any order, as cells. */
function cellsOf(text: string): { heading: readonly string[]; rows: readonly string[] } {
	const parsed = parseCsv(text.replace(/^\ufeff/, ''), ',');
	const [heading = [], ...rows] = parsed.rows.map((row) => [...row]);
	return { heading, rows: rows.map((row) => row.join('\u0000')).sort() };
}

test.each(importable)('%s comes out as it went in', async (file) => {
	const out = cellsOf(csvText((await loadExport(first.orm, NOW, file))!));
	const into = cellsOf(new TextDecoder().decode(files.tables[file]));
	expect(out.rows.length).toBeGreaterThan(0);
	expect(out).toEqual(into);
});

test('taken in again elsewhere, every table is the same, results included', async () => {
	const tables: Partial<Record<TableFile, Uint8Array>> = {};
	for (const file of importable) tables[file] = csvBytes((await loadExport(first.orm, NOW, file))!);
	const second = await databaseOf({ ...files, tables });
	for (const { file } of exportEntries()) {
		const [before, after] = await Promise.all(
			[first, second].map(async ({ orm }) => csvText((await loadExport(orm, NOW, file))!))
		);
		expect(cellsOf(after!), file).toEqual(cellsOf(before!));
	}
});

test('each row is as long as its headings', async () => {
	for (const { file } of exportEntries()) {
		const { columns, rows } = (await loadExport(first.orm, NOW, file))!;
		expect(new Set(columns).size, file).toBe(columns.length);
		expect(
			rows.every((row) => row.length === columns.length),
			file
		).toBe(true);
	}
});

test('no other name is a table', async () => {
	expect(await loadExport(first.orm, NOW, 'toString')).toBeNull();
	expect(await loadExport(first.orm, NOW, 'audit.csv')).toBeNull();
});

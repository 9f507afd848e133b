import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { RoasteryFiles } from '#lib/server/commands/importTables.ts';
import { parseCsv } from '#lib/server/imports/csv.ts';
import { TABLES, type TableFile } from '#lib/server/imports/tables.ts';
import { ROOT } from '../../src/cli/support/build.ts';

const FOLDER = join(ROOT, 'demo-data');

/**
 * The demo roastery with only some of its lots, at its own dates: enough for a test that needs real
 * records and not all of them. Blends and cupping sessions whose lots are not all there are
 * left out.
 */
export function fewLots(codes: readonly string[]): RoasteryFiles {
	const wanted = new Set(codes);
	const tables: Partial<Record<TableFile, Uint8Array>> = {};
	const logs = new Map<string, Uint8Array>();
	const sessions = wholeSessions(wanted);
	for (const file of Object.keys(TABLES) as TableFile[]) {
		const [heading = [], ...all] = rowsOf(file);
		const cell = (row: readonly string[], name: string) => row[heading.indexOf(name)] ?? '';
		const rows = all
			.filter(
				(row) => file === 'lots.csv' || !heading.includes('lot') || wanted.has(cell(row, 'lot'))
			)
			.filter((row) => file !== 'lots.csv' || wanted.has(cell(row, 'code')))
			.map((row) =>
				row.map((text, i) => (REFERS.includes(heading[i]!) && !wanted.has(text) ? '' : text))
			);
		const kept = SESSION_FILES.includes(file)
			? all.filter((row) => sessions.has(cell(row, 'session')))
			: file === 'blends.csv'
				? wholeBlends(rows, cell)
				: rows;
		for (const row of kept) {
			const log = cell(row, 'log_file');
			if (log) logs.set(log, readFileSync(join(FOLDER, log)));
		}
		tables[file] = new TextEncoder().encode([heading, ...kept].map(lineOf).join(''));
	}
	return { tables, logs };
}

/** Columns that name another lot of the roastery. */
const REFERS = ['replaces', 'substitutes'];

const SESSION_FILES: readonly TableFile[] = [
	'cupping_sessions.csv',
	'session_cups.csv',
	'session_sheets.csv'
];

/** Sessions with coffees of the wanted lots alone on their table. */
function wholeSessions(wanted: ReadonlySet<string>): ReadonlySet<string> {
	const [heading = [], ...cups] = rowsOf('session_cups.csv');
	const at = (name: string) => heading.indexOf(name);
	const has = (lot: string | undefined) => !lot || wanted.has(lot);
	const tables = Map.groupBy(cups, (row) => row[at('session')] ?? '');
	return new Set(
		[...tables].filter(([, own]) => own.every((row) => has(row[at('lot')]))).map(([id]) => id)
	);
}

function rowsOf(file: TableFile): readonly (readonly string[])[] {
	return parseCsv(readFileSync(join(FOLDER, file), 'utf8'), ',').rows;
}

function wholeBlends(
	rows: readonly (readonly string[])[],
	cell: (row: readonly string[], name: string) => string
): readonly (readonly string[])[] {
	const blocks = Map.groupBy(rows, (row) => `${cell(row, 'product')} ${cell(row, 'from')}`);
	return [...blocks.values()]
		.filter((block) => block.reduce((sum, row) => sum + Number(cell(row, 'share_pct')), 0) === 100)
		.flat();
}

function lineOf(row: readonly string[]): string {
	return `${row.map((text) => (/[",\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text)).join(',')}\n`;
}

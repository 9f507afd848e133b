import { disarmed } from '../imports/formulas.ts';
import type { Cell, NumberCell } from '../views/export/cell.ts';
import type { ExportTable } from '../views/export/table.ts';

/**
 * Tables as CSV after RFC 4180. Rules:
 * 1. Rows end in CR LF, fields are parted by commas; a field with a comma, a semicolon, a quote, a tab, a
 *    line break or blanks at its ends is quoted, quotes doubled. (The semicolon is ours: spreadsheets of
 *    half the world part fields by it.)
 * 2. Text that a spreadsheet would take for a formula is disarmed (imports/formulas.ts) and quoted.
 * 3. Numbers come from numeric fields only and stay numbers, a minus before them included.
 * 4. UTF-8 with a byte order mark, since spreadsheets else read accents wrongly.
 */
const NEEDS_QUOTES = /[",;\t\r\n]|^\s|\s$/;
const BYTE_ORDER_MARK = '\ufeff';
const NUMBER = /^-?\d+(\.\d+)?(e[+-]?\d+)?$/;

/** The bytes of a table's file. */
export function csvBytes(table: ExportTable): Uint8Array<ArrayBuffer> {
	return new TextEncoder().encode(BYTE_ORDER_MARK + csvText(table));
}

/** A table as the answer to a request. */
export function csvResponse(table: ExportTable, fileName: string): Response {
	return new Response(csvBytes(table), {
		headers: {
			'content-type': 'text/csv; charset=utf-8; header=present',
			'content-disposition': `attachment; filename="${fileName.replace(/[^\w.-]/g, '_')}"`,
			'cache-control': 'no-store'
		}
	});
}

/** A table as CSV text. */
export function csvText({ columns, rows }: ExportTable): string {
	return [columns, ...rows].map((row) => `${row.map(csvField).join(',')}\r\n`).join('');
}

/** One field, disarmed and quoted as needed. @throws RangeError when a number's digits are none */
export function csvField(cell: Cell): string {
	if (cell === null) return '';
	if (typeof cell !== 'string') return digitsOf(cell);
	const safe = disarmed(cell);
	if (safe !== null) return quoted(safe);
	return NEEDS_QUOTES.test(cell) ? quoted(cell) : cell;
}

function quoted(text: string): string {
	return `"${text.replaceAll('"', '""')}"`;
}

function digitsOf({ digits }: NumberCell): string {
	if (!NUMBER.test(digits)) throw new RangeError(`"${digits}" is no number`);
	return digits;
}

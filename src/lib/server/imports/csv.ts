/**
 * Text to rows of cells, after RFC 4180 with the usual leniency. Rules:
 * 1. A cell in double quotes may hold delimiters, line breaks and doubled quotes (RFC 4180, 2.5 to 2.7).
 * 2. A quote inside an unquoted cell is an ordinary character (a 5" screen).
 * 3. CRLF, LF and CR end a row; a last row needs none. A blank line is a row of one empty cell, so that
 *    row numbers are those a spreadsheet shows.
 * 4. Text after a closing quote and a quote that never closes are faults with row and column.
 *
 * Our own parser: none comes with the libraries in the lock, and the general ones either throw, guess, or
 * lose the row and column of a fault, which is what an import has to say.
 */

export const DELIMITERS = [',', ';', '\t', '|'] as const;
export type Delimiter = (typeof DELIMITERS)[number];

/** A fault of the text's structure; row and column count from 1. */
export interface CsvFault {
	readonly row: number;
	readonly column: number;
	readonly message: string;
}

export interface CsvRows {
	readonly rows: readonly (readonly string[])[];
	readonly faults: readonly CsvFault[];
	/** Whether the text ended with a line end; a file cut off seldom does. */
	readonly endsWithLineEnd: boolean;
}

export interface CsvLimits {
	readonly maxRows: number;
	readonly maxColumns: number;
	readonly maxCell: number;
}

export const CSV_LIMITS: CsvLimits = { maxRows: 250_000, maxColumns: 200, maxCell: 20_000 };

/** Splits text into rows of cells. Never throws; stops at the first limit that is passed and says so. */
export function parseCsv(
	text: string,
	delimiter: Delimiter,
	limits: CsvLimits = CSV_LIMITS
): CsvRows {
	const rows: string[][] = [];
	const faults: CsvFault[] = [];
	let row: string[] = [];
	let at = 0;
	const fault = (message: string) =>
		faults.push({ row: rows.length + 1, column: row.length + 1, message });

	while (at < text.length) {
		const cell = text[at] === '"' ? quoted(text, at, delimiter) : unquoted(text, at, delimiter);
		if (cell.fault) fault(cell.fault);
		if (cell.value.length > limits.maxCell) {
			fault(`found a cell of ${cell.value.length} characters, expected at most ${limits.maxCell}`);
			break;
		}
		row.push(cell.value);
		at = cell.end;
		if (row.length > limits.maxColumns) {
			fault(`found more than ${limits.maxColumns} columns`);
			break;
		}
		if (text[at] === delimiter) {
			at++;
			if (at === text.length) row.push('');
			continue;
		}
		at += text[at] === '\r' && text[at + 1] === '\n' ? 2 : 1;
		rows.push(row);
		row = [];
		if (rows.length >= limits.maxRows && at < text.length) {
			fault(`found more than ${limits.maxRows} rows`);
			break;
		}
	}
	if (row.length > 0) rows.push(row);
	return { rows, faults, endsWithLineEnd: /[\r\n]$/.test(text) };
}

interface Cell {
	readonly value: string;
	/** Index of the delimiter, the line end, or the end of the text. */
	readonly end: number;
	readonly fault?: string;
}

function unquoted(text: string, start: number, delimiter: Delimiter): Cell {
	const end = cellEnd(text, start, delimiter);
	return { value: text.slice(start, end), end };
}

function quoted(text: string, start: number, delimiter: Delimiter): Cell {
	let value = '';
	let from = start + 1;
	for (;;) {
		const quote = text.indexOf('"', from);
		if (quote < 0)
			return {
				value: value + text.slice(from),
				end: text.length,
				fault: 'found a quote that never closes: the file is cut off or a quote is missing'
			};
		value += text.slice(from, quote);
		if (text[quote + 1] !== '"') {
			const end = cellEnd(text, quote + 1, delimiter);
			const rest = text.slice(quote + 1, end);
			if (rest.trim() === '') return { value, end };
			const shown = rest.length > 20 ? `${rest.slice(0, 20)}...` : rest;
			return {
				value: value + rest,
				end,
				fault: `found '${shown}' after a closing quote, expected a delimiter or the end of the row`
			};
		}
		value += '"';
		from = quote + 2;
	}
}

function cellEnd(text: string, start: number, delimiter: Delimiter): number {
	let at = start;
	while (at < text.length) {
		const char = text[at];
		if (char === delimiter || char === '\n' || char === '\r') return at;
		at++;
	}
	return at;
}

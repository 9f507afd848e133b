/**
 * How a text file is written: delimiter, number style, where its headings, units and first data row are.
 * Rules:
 * 1. The delimiter is the one that splits most rows into the same number of cells, at least two, with the
 *    most cells that are numbers or times. A first line `sep=;` (spreadsheet practice) says it outright.
 * 2. The decimal mark is counted over all cells; when only cells like `1,234` speak, the delimiter
 *    decides (a semicolon goes with a comma) and `decimalSure` is false.
 * 3. The headings are the first row of words in most columns that stands right above rows of numbers; a
 *    row of units may stand between, and what is above the headings is preamble. Without such a row the
 *    data begins with the first row that is mostly numbers and followed by another like it.
 */
import { CSV_LIMITS, DELIMITERS, parseCsv, type CsvFault, type Delimiter } from './csv.ts';
import {
	isMissing,
	isStamp,
	parseClock,
	parseNumber,
	styleEvidence,
	type NumberStyle,
	type StyleEvidence,
	type Thousands
} from './number.ts';
import { plainWords, unitOf } from './words.ts';

/** Everything that has to be known to read the text again in the same way. Rows count from 0. */
export interface Dialect extends NumberStyle {
	readonly delimiter: Delimiter;
	/** False when nothing in the file settles the decimal mark. */
	readonly decimalSure: boolean;
	/** Null when the file has no headings. */
	readonly headingRow: number | null;
	/** Null when no row of units stands between headings and data. */
	readonly unitsRow: number | null;
	readonly firstDataRow: number;
}

export interface Sniffed {
	readonly dialect: Dialect;
	readonly rows: readonly (readonly string[])[];
	readonly faults: readonly CsvFault[];
	readonly endsWithLineEnd: boolean;
	/** Number of cells most data rows have. */
	readonly width: number;
}

const HEAD_CHARACTERS = 64 * 1024;
const HEAD_ROWS = 300;
/** So many rows settle the style; one that only shows later is refused as a bad cell, never misread. */
const STYLE_ROWS = 2000;

/** Finds the dialect of a text and splits it. Returns null when no delimiter makes two columns. */
export function sniffDialect(text: string): Sniffed | null {
	const delimiter = namedDelimiter(text) ?? sniffDelimiter(text.slice(0, HEAD_CHARACTERS));
	if (delimiter === null) return null;
	const parsed = parseCsv(text, delimiter);
	const width = commonWidth(parsed.rows);
	if (width < 2) return null;
	const style = sniffStyle(parsed.rows, delimiter);
	const layout = sniffLayout(parsed.rows, width);
	const mismatch = layout.headingRow === null ? wordsAbove(parsed.rows, layout, width) : null;
	return {
		...parsed,
		faults: mismatch ? [...parsed.faults, mismatch] : parsed.faults,
		width,
		dialect: { delimiter, ...style, ...layout }
	};
}

/**
 * Words right above rows with another number of cells: not headings, and reading on without them would be
 * a guess. The usual reason is a decimal comma in a file of commas.
 */
function wordsAbove(
	rows: readonly (readonly string[])[],
	layout: Layout,
	width: number
): CsvFault | null {
	let above = layout.firstDataRow - 1;
	while (above >= 0 && !hasContent(rows[above]!)) above--;
	const row = rows[above];
	if (!row || row.length < 2 || row.some(looksNumeric)) return null;
	return {
		row: above + 1,
		column: Math.min(row.length, width) + 1,
		message:
			`found ${row.length} headings above rows of ${width} cells, expected as many headings as cells; ` +
			'a decimal comma needs quotes or another delimiter'
	};
}

/** The delimiter alone, or null when none makes two columns. `text` is the beginning of a file. */
export function sniffDelimiter(text: string): Delimiter | null {
	let best: { delimiter: Delimiter; score: number } | null = null;
	for (const delimiter of DELIMITERS) {
		const score = delimiterScore(text, delimiter);
		if (score > 0 && (best === null || score > best.score)) best = { delimiter, score };
	}
	return best?.delimiter ?? null;
}

/** The delimiter that a first line `sep=;` names. */
export function namedDelimiter(text: string): Delimiter | null {
	const match = /^sep=(.)\r?\n/i.exec(text.slice(0, 8));
	return DELIMITERS.find((delimiter) => delimiter === match?.[1]) ?? null;
}

function delimiterScore(text: string, delimiter: Delimiter): number {
	const limits = { ...CSV_LIMITS, maxRows: HEAD_ROWS };
	const rows = parseCsv(text, delimiter, limits).rows.filter(hasContent);
	const width = commonWidth(rows);
	if (width < 2) return 0;
	const fitting = rows.filter((row) => row.length === width);
	const cells = fitting.flat();
	const pure = cells.filter((cell) => isMissing(cell) || looksNumeric(cell)).length / cells.length;
	return (fitting.length / rows.length) * (0.5 + pure);
}

function hasContent(row: readonly string[]): boolean {
	return row.some((cell) => cell.trim() !== '');
}

/** The number of cells most rows have; the larger of two equally common ones. */
function commonWidth(rows: readonly (readonly string[])[]): number {
	const counts = new Map<number, number>();
	for (const row of rows)
		if (hasContent(row)) counts.set(row.length, (counts.get(row.length) ?? 0) + 1);
	let best = 0;
	for (const [width, count] of counts) {
		const bestCount = counts.get(best) ?? 0;
		if (count > bestCount || (count === bestCount && width > best)) best = width;
	}
	return best;
}

/** A number in any style, a clock time or a date with time; a unit may follow a number. */
export function looksNumeric(cell: string): boolean {
	const text = cell.trim();
	if (!/\d/.test(text) || text.length > 40) return false;
	const bare = withoutUnit(text);
	return (
		styles.some((style) => parseNumber(bare, style) !== null) ||
		parseClock(text) !== null ||
		isStamp(text)
	);
}

const styles: readonly NumberStyle[] = (['.', ','] as const).flatMap((decimal) =>
	([decimal === '.' ? ',' : '.', ' ', "'"] as const).map((thousands) => ({ decimal, thousands }))
);

/** The cell without a unit written behind its number (`93.5 °C`); the cell itself when there is none. */
export function withoutUnit(cell: string): string {
	if (/^[-+\d.,:]*$/.test(cell)) return cell;
	const match = /^([+-]?[\d.,' \u00a0\u202f]*\d)\s*([^\d\s].*)$/.exec(cell.trim());
	return match && unitOf(match[2]!) !== null ? match[1]! : cell;
}

/** Decimal and thousands marks over all rows. */
export function sniffStyle(
	rows: readonly (readonly string[])[],
	delimiter: Delimiter
): NumberStyle & { readonly decimalSure: boolean } {
	const counts: Record<StyleEvidence, number> = { point: 0, comma: 0, either: 0, none: 0 };
	let eitherComma = 0;
	const cells = rows.slice(0, STYLE_ROWS).flatMap((row) => row.map((cell) => withoutUnit(cell)));
	for (const cell of cells) {
		const evidence = styleEvidence(cell);
		counts[evidence]++;
		if (evidence === 'either' && cell.includes(',')) eitherComma++;
	}
	const decimalSure = counts.point !== counts.comma;
	const decimal = decimalSure
		? counts.point > counts.comma
			? '.'
			: ','
		: eitherComma > 0 && eitherComma === counts.either && delimiter !== ','
			? ','
			: '.';
	return { decimal, decimalSure, thousands: sniffThousands(cells, decimal) };
}

function sniffThousands(cells: readonly string[], decimal: '.' | ','): Thousands {
	const other = decimal === '.' ? ',' : '.';
	for (const thousands of [other, ' ', "'"] as const) {
		const style = { decimal, thousands };
		const bare: NumberStyle = { decimal, thousands: '' };
		const grouped = (cell: string) =>
			parseNumber(cell, style) !== null && parseNumber(cell, bare) === null;
		if (cells.some(grouped)) return thousands;
	}
	return '';
}

type Layout = Pick<Dialect, 'headingRow' | 'unitsRow' | 'firstDataRow'>;

/** Only the beginning of a file can hold preamble and headings. */
const LAYOUT_ROWS = 500;
/** So many data rows below make a row of words the headings for sure; a preamble seldom looks so. */
const SURE_RUN = 5;

function sniffLayout(rows: readonly (readonly string[])[], width: number): Layout {
	const heads: number[] = [];
	for (let at = 0; at < Math.min(rows.length, LAYOUT_ROWS); at++)
		if (isHeadingRow(rows[at]!, width)) heads.push(at);
	let best: (Layout & { readonly run: number }) | null = null;
	for (const [i, head] of heads.entries()) {
		const found = layoutBelow(rows, head, heads[i + 1], heads[i + 2], width);
		if (found && found.run > (best?.run ?? 0)) best = found;
		if (best && best.run >= SURE_RUN) break;
	}
	if (best) {
		const { headingRow, unitsRow, firstDataRow } = best;
		return { headingRow, unitsRow, firstDataRow };
	}
	return { headingRow: null, unitsRow: null, firstDataRow: firstDataWithoutHeadings(rows, width) };
}

/** The layout if `head` were the heading row, with the number of data rows before the next such row. */
function layoutBelow(
	rows: readonly (readonly string[])[],
	head: number,
	next: number | undefined,
	afterNext: number | undefined,
	width: number
): (Layout & { readonly run: number }) | null {
	let at = nextFilled(rows, head + 1);
	const unitsRow = at < rows.length && isUnitsRow(rows[at]!) ? at : null;
	if (unitsRow !== null) at = nextFilled(rows, at + 1);
	if (at >= rows.length || !isDataRow(rows[at]!, width)) return null;
	const stop = (unitsRow !== null && next === unitsRow ? afterNext : next) ?? rows.length;
	let run = 0;
	for (let i = at; i < Math.min(stop, at + LAYOUT_ROWS); i++) if (isDataRow(rows[i]!, width)) run++;
	return { headingRow: head, unitsRow, firstDataRow: at, run };
}

function nextFilled(rows: readonly (readonly string[])[], from: number): number {
	let at = from;
	while (at < rows.length && !hasContent(rows[at]!)) at++;
	return at;
}

function firstDataWithoutHeadings(rows: readonly (readonly string[])[], width: number): number {
	for (let at = 0; at < Math.min(rows.length, LAYOUT_ROWS); at++) {
		if (!isDataRow(rows[at]!, width)) continue;
		const next = rows[nextFilled(rows, at + 1)];
		if (next === undefined || isDataRow(next, width)) return at;
	}
	return Math.min(1, rows.length);
}

function isDataRow(row: readonly string[], width: number): boolean {
	if (row.length < Math.min(width, Math.max(2, width - 1))) return false;
	const filled = row.filter((cell) => !isMissing(cell));
	const numeric = filled.filter(looksNumeric).length;
	return numeric >= 1 && numeric >= filled.length / 2;
}

function isUnitsRow(row: readonly string[]): boolean {
	const filled = row.filter((cell) => !isMissing(cell));
	const units = filled.filter((cell) => unitOf(cell) !== null).length;
	return units >= 1 && units >= filled.length / 2;
}

/** Words in most columns, no number, and as many cells as the data has, give or take an open end. */
function isHeadingRow(row: readonly string[], width: number): boolean {
	if (Math.abs(row.length - width) > 1 || row.some(looksNumeric)) return false;
	return row.filter((cell) => plainWords(cell) !== '').length >= Math.max(1, 0.6 * width);
}

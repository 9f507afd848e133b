/**
 * A table of records from a CSV file. Rules:
 * 1. Columns are found by their names, in any order, case and blanks forgiven; unknown ones are noted.
 * 2. A missing required column, a cell that can't be read, a blank that must be filled and a key that stands
 *    twice are problems with file, row and column; one problem and nothing is taken.
 * 3. The decimal mark is the file's own, told by its number columns; where nothing tells, it is a point
 *    and grouping is refused.
 * 4. Rows count as a spreadsheet shows them, headings included.
 * 5. Text that an export disarmed is what it was before (formulas.ts).
 */
import type { Currency } from '#lib/domain/quantity/money.ts';
import { good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { CellContext, CellType } from './cells.ts';
import { ProblemList, foundText } from './collect.ts';
import { CSV_LIMITS, DELIMITERS, parseCsv, type CsvRows, type Delimiter } from './csv.ts';
import { decode } from './decode.ts';
import { sniffStyle } from './dialect.ts';
import { armed } from './formulas.ts';
import type { NumberStyle } from './number.ts';

/** A column of a table and what its cells become. */
export interface Column<V> {
	/** Heading in the file, `moisture_pct`. */
	readonly name: string;
	readonly type: CellType<V>;
	/** Whether a blank is refused, else the value of a blank cell and of a column that isn't there. */
	readonly blank: { readonly refused: true } | { readonly refused: false; readonly value: V };
}

/** A table: its columns by the property they fill. `R` is a row as read, `T` a finished record. */
export interface TableSpec<T, R = T> {
	/** For a person: `lots`. */
	readonly name: string;
	readonly columns: { readonly [K in keyof R]: Column<R[K]> };
	/** Properties that together stand once. */
	readonly key?: readonly (keyof R)[];
	/** Checks across a row's cells, and its finished form. Problem paths name the column. */
	readonly finish: (row: R) => Outcome<T>;
}

export interface TableOptions {
	/** Moves every day, time and week by whole weeks. */
	readonly shiftDays?: number;
	/** Currency of amounts in tables without a currency column. */
	readonly siteCurrency?: Currency;
}

export interface TableRow<T> {
	/** Row in the file, from 1. */
	readonly row: number;
	readonly value: T;
}

export interface Table<T> {
	readonly fileName: string;
	readonly rows: readonly TableRow<T>[];
	readonly notes: readonly string[];
}

/** A column that must be there, with every cell filled. */
export function filled<V>(name: string, type: CellType<V>): Column<V> {
	return { name, type, blank: { refused: true } };
}

/** A column that may be missing or blank; null then. */
export function maybe<V>(name: string, type: CellType<V>): Column<V | null> {
	return { name, type, blank: { refused: false, value: null } };
}

/** A column that may be missing or blank, with the value it has then. */
export function orElse<V>(name: string, type: CellType<V>, value: V): Column<V> {
	return { name, type, blank: { refused: false, value } };
}

/**
 * The records of a table, all or none.
 * @throws RangeError when `shiftDays` isn't whole weeks
 */
export function readTable<T, R>(
	bytes: Uint8Array,
	fileName: string,
	spec: TableSpec<T, R>,
	options: TableOptions = {}
): Outcome<Table<T>> {
	const shiftDays = options.shiftDays ?? 0;
	if (!Number.isInteger(shiftDays / 7))
		throw new RangeError(`shiftDays must be whole weeks, found ${shiftDays}`);
	const decoded = decode(bytes, fileName);
	if (!decoded.ok) return decoded;
	const problems = new ProblemList(fileName);
	const found = findHeadings(decoded.value.text, columnsOf(spec));
	if (found === null) {
		const names = columnsOf(spec).map((column) => column.name);
		problems.add('', `found none of the columns of ${spec.name}: expected ${names.join(', ')}`);
		return problems.failed();
	}
	const parsed = parseCsv(decoded.value.text, found.delimiter);
	checkText(parsed, found, problems);
	checkHeadings(spec, found, problems);
	if (problems.count > 0) return problems.failed();
	const data = dataRows(parsed, found.headingRow);
	const style = tableStyle(columnsOf(spec), found, data);
	const base = { style, shiftDays, siteCurrency: options.siteCurrency ?? null };
	const rows = readRows(spec, found, data, base, problems);
	if (problems.count > 0) return problems.failed();
	return good({ fileName, rows, notes: [...decoded.value.notes, ...unknownNote(spec, found)] });
}

interface Headings {
	readonly delimiter: Delimiter;
	/** Counts from 0. */
	readonly headingRow: number;
	/** Plain names by column of the file. */
	readonly names: readonly string[];
}

interface RawRow {
	readonly row: number;
	readonly cells: readonly string[];
}

const HEAD_ROWS = 20;

function columnsOf<T, R>(spec: TableSpec<T, R>): Column<unknown>[] {
	return Object.values(spec.columns);
}

function plainName(heading: string): string {
	return heading
		.trim()
		.toLowerCase()
		.replace(/[\s-]+/g, '_');
}

/** The delimiter and row that show most of the table's columns; null when none shows one. */
function findHeadings(text: string, columns: readonly Column<unknown>[]): Headings | null {
	const known = new Set(columns.map((column) => column.name));
	let best: (Headings & { readonly hits: number }) | null = null;
	const head = text.slice(0, 64 * 1024);
	for (const delimiter of DELIMITERS) {
		const rows = parseCsv(head, delimiter, { ...CSV_LIMITS, maxRows: HEAD_ROWS }).rows;
		for (const [headingRow, cells] of rows.entries()) {
			const names = cells.map(plainName);
			const hits = new Set(names.filter((name) => known.has(name))).size;
			if (hits > (best?.hits ?? 0)) best = { delimiter, headingRow, names, hits };
		}
	}
	return best;
}

function checkText(parsed: CsvRows, found: Headings, problems: ProblemList): void {
	for (const fault of parsed.faults)
		problems.add(`row ${fault.row}, column ${fault.column}`, fault.message);
	const last = parsed.rows.at(-1);
	if (parsed.endsWithLineEnd || !last || parsed.rows.length < 2) return;
	if (last.length < found.names.length)
		problems.add(
			`row ${parsed.rows.length}`,
			`found ${last.length} cells at the end of the file, expected ${found.names.length}: the file is cut off`
		);
}

function checkHeadings<T, R>(spec: TableSpec<T, R>, found: Headings, problems: ProblemList): void {
	for (const column of columnsOf(spec)) {
		const count = found.names.filter((name) => name === column.name).length;
		if (count === 0 && column.blank.refused)
			problems.add(
				`row ${found.headingRow + 1}`,
				`found no column '${column.name}', expected it in ${spec.name} (${column.type.describe})`
			);
		if (count > 1)
			problems.add(
				`row ${found.headingRow + 1}`,
				`found column '${column.name}' ${count} times, expected it once`
			);
	}
}

function dataRows(parsed: CsvRows, headingRow: number): RawRow[] {
	return parsed.rows
		.map((cells, at) => ({ row: at + 1, cells }))
		.slice(headingRow + 1)
		.filter(({ cells }) => cells.some((cell) => cell.trim() !== ''));
}

function tableStyle(
	columns: readonly Column<unknown>[],
	found: Headings,
	data: readonly RawRow[]
): NumberStyle {
	const numeric = columns
		.filter((column) => column.type.numeric)
		.map((column) => found.names.indexOf(column.name))
		.filter((at) => at >= 0);
	const cells = data.map((row) => numeric.map((at) => row.cells[at] ?? ''));
	const { decimal, decimalSure, thousands } = sniffStyle(cells, found.delimiter);
	return { decimal, thousands: decimalSure ? thousands : '' };
}

function readRows<T, R>(
	spec: TableSpec<T, R>,
	found: Headings,
	data: readonly RawRow[],
	base: Omit<CellContext, 'cell'>,
	problems: ProblemList
): TableRow<T>[] {
	const rows: TableRow<T>[] = [];
	const seen = new Map<string, number>();
	for (const raw of data) {
		checkWidth(raw, found, problems);
		const cell = (name: string) => armed((raw.cells[found.names.indexOf(name)] ?? '').trim());
		const read = readCells(spec, { ...base, cell }, (heading, message) =>
			problems.add(`row ${raw.row}, column '${heading}'`, message)
		);
		if (read === null) continue;
		checkKey(spec, raw.row, read, seen, problems);
		const finished = spec.finish(read);
		if (finished.ok) rows.push({ row: raw.row, value: finished.value });
		else
			for (const { path, message } of finished.problems)
				problems.add(`row ${raw.row}, column '${path}'`, message);
	}
	return rows;
}

function checkWidth({ row, cells }: RawRow, found: Headings, problems: ProblemList): void {
	const extra = cells.slice(found.names.length).find((cell) => cell.trim() !== '');
	if (extra === undefined) return;
	problems.add(
		`row ${row}, column ${found.names.length + 1}`,
		`found ${cells.length} cells (${foundText(extra)} is one too many), expected ${found.names.length}`
	);
}

/**
 * The cells of one record by a table's columns; null when one is refused, each of which is told to `refuse`.
 * A row of a file and a filled form are read alike.
 */
export function readCells<T, R>(
	spec: TableSpec<T, R>,
	context: CellContext,
	refuse: (heading: string, message: string) => void
): R | null {
	const read: Partial<R> = {};
	let isWhole = true;
	for (const key of Object.keys(spec.columns) as (keyof R)[]) {
		const { name, type, blank } = spec.columns[key];
		const text = context.cell(name).trim();
		if (text === '' && !blank.refused) {
			read[key] = blank.value;
			continue;
		}
		const value = text === '' ? undefined : type.parse(text, context);
		if (value !== undefined) read[key] = value;
		else {
			isWhole = false;
			refuse(name, `found ${foundText(text)}, expected ${type.describe}`);
		}
	}
	return isWhole ? (read as R) : null;
}

function checkKey<T, R>(
	spec: TableSpec<T, R>,
	row: number,
	read: R,
	seen: Map<string, number>,
	problems: ProblemList
): void {
	if (!spec.key) return;
	const key = JSON.stringify(spec.key.map((property) => read[property]));
	const first = seen.get(key);
	if (first === undefined) {
		seen.set(key, row);
		return;
	}
	const names = spec.key.map((property) => `'${spec.columns[property].name}'`).join(' and ');
	problems.add(
		`row ${row}, column ${names}`,
		`found the same as in row ${first}, expected it once`
	);
}

function unknownNote<T, R>(spec: TableSpec<T, R>, found: Headings): string[] {
	const known = new Set(columnsOf(spec).map((column) => column.name));
	const unknown = found.names.filter((name) => name !== '' && !known.has(name));
	if (unknown.length === 0) return [];
	return [`Columns that are not of ${spec.name} were left out: ${unknown.join(', ')}.`];
}

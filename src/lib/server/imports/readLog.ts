/** Reads a log file by its mapping. Rules 3 and 4 of logFile.ts. */
import { CHANNELS, type Channel, type Mark, type RoastLog } from '#lib/domain/curve/log.ts';
import { good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { ProblemList, foundText } from './collect.ts';
import { parseCsv } from './csv.ts';
import { MAX_LOG_BYTES, decode } from './decode.ts';
import { withoutUnit } from './dialect.ts';
import { columnName, mappingProblems, type ColumnMapping, type LogMapping } from './mapping.ts';
import type { ColumnSource, DataRow } from './columnSource.ts';
import { readMarks } from './marks.ts';
import { isMissing, parseNumber, styleText } from './number.ts';
import { readTimes } from './times.ts';
import { POSSIBLE, toChannelUnit } from './units.ts';
import { unitOf } from './words.ts';

export interface ParsedLog {
	/** Time zero is the charge mark, else the start of the file; rows before it are left out, and noted. */
	readonly log: RoastLog;
	readonly headings: readonly string[];
	/** Rows of the log. */
	readonly rows: number;
	/** Median step between rows, s. */
	readonly timeStepS: number;
	readonly notes: readonly string[];
}

const MIN_ROWS = 2;

/**
 * The log in a file's bytes. Problems name file, row, column, what was found and what was expected; at
 * most twenty are listed. Same bytes and mapping always give the same outcome.
 */
export function readLog(
	bytes: Uint8Array,
	mapping: LogMapping,
	fileName: string
): Outcome<ParsedLog> {
	const problems = new ProblemList(fileName);
	for (const { path, message } of mappingProblems(mapping)) problems.add(path, message);
	if (problems.count > 0) return problems.failed();
	const decoded = decode(bytes, fileName, {
		maxBytes: MAX_LOG_BYTES,
		encoding: mapping.encoding
	});
	if (!decoded.ok) return decoded;

	const rows = splitRows(decoded.value.text, mapping, problems);
	if (problems.count > 0) return problems.failed();
	const notes: string[] = [];
	const source = (column: ColumnMapping): ColumnSource => ({
		column,
		rows,
		style: mapping.dialect,
		problems,
		notes
	});
	const timeColumn = mapping.columns.find((column) => column.use === 'time')!;
	const timesS = readTimes(source(timeColumn));
	const channels: Partial<Record<Channel, Float64Array>> = {};
	for (const channel of CHANNELS) {
		const column = mapping.columns.find((each) => each.use === channel);
		if (column) channels[channel] = readChannel(source(column), channel);
	}
	const markColumns = mapping.columns.filter((column) => column.use === 'mark');
	const marks = readMarks(markColumns.map(source), timesS);
	if (problems.count > 0) return problems.failed();
	return good(assemble(mapping, timesS, channels, marks, notes));
}

/** Data rows that aren't blank, after checking that the text fits the mapping. */
function splitRows(text: string, mapping: LogMapping, problems: ProblemList): DataRow[] {
	const { dialect, columns } = mapping;
	const parsed = parseCsv(text, dialect.delimiter);
	for (const fault of parsed.faults)
		problems.add(`row ${fault.row}, column ${fault.column}`, fault.message);
	const headings = dialect.headingRow === null ? null : (parsed.rows[dialect.headingRow] ?? []);
	for (const column of headings ? columns : []) {
		const found = headings![column.index] ?? '';
		if (found.trim() !== column.heading.trim())
			problems.add(
				`row ${dialect.headingRow! + 1}, column ${column.index + 1}`,
				`found heading ${foundText(found)}, expected ${foundText(column.heading)}: the mapping is of another file`
			);
	}
	const rows = parsed.rows
		.map((cells, at) => ({ row: at + 1, cells }))
		.slice(dialect.firstDataRow)
		.filter(({ cells }) => cells.some((cell) => cell.trim() !== ''));
	if (rows.length < MIN_ROWS)
		problems.add('', `found ${rows.length} rows of data, expected at least ${MIN_ROWS}`);
	for (const row of rows) checkWidth(row, columns.length, dialect.delimiter, problems);
	if (!parsed.endsWithLineEnd) checkLastRow(rows, problems);
	return rows;
}

function checkWidth(
	{ row, cells }: DataRow,
	width: number,
	delimiter: string,
	problems: ProblemList
): void {
	const extra = cells.slice(width).find((cell) => cell.trim() !== '');
	if (extra === undefined) return;
	const hint = delimiter === ',' ? '; a decimal comma needs quotes or another delimiter' : '';
	problems.add(
		`row ${row}, column ${width + 1}`,
		`found ${cells.length} cells (${foundText(extra)} is one too many), expected ${width}${hint}`
	);
}

/** A file that is cut off ends in the middle of a row, without a line end. */
function checkLastRow(rows: readonly DataRow[], problems: ProblemList): void {
	const last = rows.at(-1);
	const before = rows.at(-2);
	if (!last || !before || last.cells.length >= before.cells.length) return;
	problems.add(
		`row ${last.row}`,
		`found ${last.cells.length} cells at the end of the file, expected ${before.cells.length}: the file is cut off`
	);
}

function readChannel(source: ColumnSource, channel: Channel): Float64Array {
	const { column, rows, problems, notes } = source;
	const values = new Float64Array(rows.length).fill(NaN);
	let missing = 0;
	for (const [i, { row, cells }] of rows.entries()) {
		const cell = cells[column.index] ?? '';
		if (isMissing(cell)) {
			missing++;
			continue;
		}
		const read = readCell(cell, source, channel);
		if (read.ok) values[i] = read.value;
		else problems.add(`row ${row}, ${columnName(column)}`, `found ${read.message}`);
	}
	if (missing === rows.length)
		problems.add(columnName(column), `found no value, expected numbers in ${column.unit}`);
	else if (missing > 0)
		notes.push(`${capital(columnName(column))}: ${missing} of ${rows.length} values missing.`);
	if (column.unit === 'F') notes.push(`${capital(columnName(column))}: converted from F to C.`);
	return values;
}

type CellRead = { ok: true; value: number } | { ok: false; message: string };

function readCell(cell: string, source: ColumnSource, channel: Channel): CellRead {
	const { column, style } = source;
	const bare = withoutUnit(cell);
	const written = bare === cell ? null : unitOf(cell.trim().slice(bare.length));
	const number = parseNumber(bare, style);
	if (number === null)
		return {
			ok: false,
			message: `${foundText(cell)}, expected a number in ${column.unit} (${styleText(style)})`
		};
	if (written !== null && written !== column.unit)
		return { ok: false, message: `${foundText(cell)}, expected a number in ${column.unit}` };
	const value = toChannelUnit(number, column.unit);
	const { from, to, unit } = POSSIBLE[channel];
	if (value >= from && value <= to) return { ok: true, value };
	return {
		ok: false,
		message: `${foundText(cell)}, expected ${from} to ${to} ${unit}; a wrong unit or a broken sensor?`
	};
}

function capital(text: string): string {
	return text.charAt(0).toUpperCase() + text.slice(1);
}

function assemble(
	mapping: LogMapping,
	timesS: Float64Array,
	channels: Partial<Record<Channel, Float64Array>>,
	marks: readonly Mark[],
	notes: string[]
): ParsedLog {
	const stepS = medianStep(timesS);
	const zeroS = timeZero(mapping, timesS, marks, stepS, notes);
	const from = timesS.findIndex((timeS) => timeS >= zeroS);
	if (from > 0)
		notes.push(`${from} rows before the charge (${shortS(zeroS - timesS[0]!)} s) are left out.`);
	noteGaps(timesS, stepS, notes);
	const cut = (values: Float64Array) => values.slice(from);
	const log: RoastLog = {
		kind: mapping.kind,
		timeS: cut(timesS).map((timeS) => roundS(timeS - zeroS)),
		channels: Object.fromEntries(
			Object.entries(channels).map(([channel, values]) => [channel, cut(values)])
		),
		marks: marks.map(({ name, timeS }) => ({ name, timeS: roundS(timeS - zeroS) }))
	};
	const headings = mapping.columns.map((column) => column.heading);
	return { log, headings, rows: log.timeS.length, timeStepS: roundS(stepS), notes };
}

/**
 * Seconds that become zero: the charge mark; else zero of an elapsed time that starts at or before the
 * first rows or below zero; else the first row.
 */
function timeZero(
	mapping: LogMapping,
	timesS: Float64Array,
	marks: readonly Mark[],
	stepS: number,
	notes: string[]
): number {
	const charge = marks.find((mark) => mark.name === 'charge');
	if (charge) return charge.timeS;
	const unit = mapping.columns.find((column) => column.use === 'time')!.unit;
	const first = timesS[0]!;
	const last = timesS[timesS.length - 1]!;
	if (unit !== 'timestamp' && last > 0 && first <= 2 * stepS) return 0;
	notes.push(
		unit === 'timestamp'
			? 'Time counts from the first row.'
			: `Time starts at ${shortS(first)} s; it is counted from the first row.`
	);
	return first;
}

function noteGaps(timesS: Float64Array, stepS: number, notes: string[]): void {
	let gaps = 0;
	let longestS = 0;
	for (let i = 1; i < timesS.length; i++) {
		const gapS = timesS[i]! - timesS[i - 1]!;
		if (gapS > 5 * stepS) gaps++;
		longestS = Math.max(longestS, gapS);
	}
	if (gaps > 0)
		notes.push(
			`${gaps} ${gaps === 1 ? 'gap' : 'gaps'} in time, the longest ${shortS(longestS)} s (usual step ${shortS(stepS)} s).`
		);
}

function medianStep(timesS: Float64Array): number {
	const steps = timesS.slice(1).map((timeS, i) => timeS - timesS[i]!);
	steps.sort();
	return steps[Math.floor(steps.length / 2)] ?? NaN;
}

/** Microseconds, so that differences of date-times don't carry noise of the floating point. */
function roundS(timeS: number): number {
	return Math.round(timeS * 1e6) / 1e6;
}

function shortS(timeS: number): string {
	return String(Math.round(timeS * 100) / 100);
}

/**
 * A log file is looked at before it is taken in. Rules of this folder:
 * 1. The preview carries the mapping that the commit reads the file by: what the user saw is what happens.
 * 2. A mapping is remembered by the shape of the file: delimiter, headings and units, not its numbers, name
 *    or the length of its preamble.
 * 3. All or nothing: a file with one bad cell is refused, naming file, row, column, what was found and
 *    what was expected.
 * 4. Nothing is read silently in another way: each conversion, gap and left-out row is a note.
 */
import type { Problem } from '#lib/domain/quantity/problem.ts';
import { ProblemList, foundText } from './collect.ts';
import type { CsvFault } from './csv.ts';
import { MAX_LOG_BYTES, decode, type Decoded, type Encoding } from './decode.ts';
import { sniffDialect, type Dialect, type Sniffed } from './dialect.ts';
import { columnFacts } from './facts.ts';
import { guessColumns, guessKind, type ColumnGuess, type KindGuess } from './guess.ts';
import { sha256Hex } from './hash.ts';
import type { LogMapping, MappingMemory } from './mapping.ts';
import { styleText } from './number.ts';
import { readLog } from './readLog.ts';

export type { LogMapping, MappingMemory };

/** One row as it stands in the file; `row` counts from 1, as a spreadsheet shows it. */
export interface RawRow {
	readonly row: number;
	readonly cells: readonly string[];
}

export interface LogPreview {
	readonly fileName: string;
	readonly sha256: string;
	readonly byteCount: number;
	/** Encoding, delimiter and number style in plain words. */
	readonly dialectText: string;
	readonly headings: readonly string[];
	/** What stood above the headings. */
	readonly preamble: readonly RawRow[];
	/** The first data rows. */
	readonly firstRows: readonly RawRow[];
	readonly rowCount: number;
	/** One a column, with reason and sureness; they agree with `mapping`. */
	readonly guesses: readonly ColumnGuess[];
	readonly kind: KindGuess;
	readonly shape: string;
	/** True when the mapping comes from an earlier file of this shape. */
	readonly remembered: boolean;
	/** What a commit would read the file by; null when the file can't be split into columns. */
	readonly mapping: LogMapping | null;
	/** What stands in the way of reading it by `mapping`; empty when nothing does. */
	readonly problems: readonly Problem[];
	readonly notes: readonly string[];
}

const SHOWN_ROWS = 12;
/** So many rows show what a column is; the commit checks them all. */
const FACT_ROWS = 2000;

/**
 * Looks at a file and says how it would be read. Never throws: what is wrong is in `problems`.
 * `remembered` are mappings that a user has confirmed; one of the same shape is used in place of a guess.
 */
export function sniffLog(
	bytes: Uint8Array,
	fileName: string,
	remembered: readonly MappingMemory[] = []
): LogPreview {
	const decoded = decode(bytes, fileName, { maxBytes: MAX_LOG_BYTES });
	if (!decoded.ok) return emptyPreview(bytes, fileName, decoded.problems);
	const sniffed = sniffDialect(decoded.value.text);
	if (sniffed === null)
		return emptyPreview(bytes, fileName, [
			{
				path: fileName,
				message:
					'found one column only, expected at least a time and one reading, apart by comma, semicolon or tab'
			}
		]);
	if (sniffed.faults.length > 0)
		return emptyPreview(bytes, fileName, faultProblems(fileName, sniffed.faults));
	return previewOf(bytes, fileName, decoded.value, sniffed, remembered);
}

function faultProblems(fileName: string, faults: readonly CsvFault[]): Problem[] {
	const problems = new ProblemList(fileName);
	for (const { row, column, message } of faults)
		problems.add(`row ${row}, column ${column}`, message);
	return problems.all();
}

/** What to keep of a mapping that a user confirmed. */
export function remember(mapping: LogMapping): MappingMemory {
	return { shape: mapping.shape, mapping };
}

function previewOf(
	bytes: Uint8Array,
	fileName: string,
	decoded: Decoded,
	sniffed: Sniffed,
	remembered: readonly MappingMemory[]
): LogPreview {
	const headings = headingsOf(sniffed);
	const shape = shapeOf(sniffed, headings);
	const memory = remembered.findLast((each) => each.shape === shape)?.mapping ?? null;
	const dialect = settledDialect(sniffed.dialect, memory);
	const data = dataRows(sniffed);
	const byValues = guessColumns(factsOf(headings, sniffed, dialect, data));
	const guesses = memory ? recalled(byValues, memory) : byValues;
	const kind: KindGuess = memory
		? { kind: memory.kind, why: 'as for the last file of this shape', sureness: 1 }
		: guessKind(guesses, fileName);
	const columns = guesses.map(({ index, heading, use, unit, mark }) => ({
		index,
		heading,
		use,
		unit,
		mark
	}));
	const mapping: LogMapping = {
		version: 1,
		shape,
		kind: kind.kind,
		encoding: decoded.encoding,
		dialect,
		columns
	};
	const read = readLog(bytes, mapping, fileName);
	return {
		fileName,
		sha256: sha256Hex(bytes),
		byteCount: bytes.length,
		dialectText: dialectText(decoded.encoding, dialect),
		headings,
		preamble: preambleOf(sniffed),
		firstRows: data.slice(0, SHOWN_ROWS),
		rowCount: data.length,
		guesses,
		kind,
		shape,
		remembered: memory !== null,
		mapping,
		problems: read.ok ? [] : read.problems,
		notes: [
			...decoded.notes,
			...(dialect.decimalSure ? [] : undecidedNote(sniffed, memory !== null)),
			...(read.ok ? read.value.notes : [])
		]
	};
}

function emptyPreview(
	bytes: Uint8Array,
	fileName: string,
	problems: readonly Problem[]
): LogPreview {
	return {
		fileName,
		sha256: sha256Hex(bytes),
		byteCount: bytes.length,
		dialectText: '',
		headings: [],
		preamble: [],
		firstRows: [],
		rowCount: 0,
		guesses: [],
		kind: { kind: 'sample', why: 'nothing could be read', sureness: 0 },
		shape: '',
		remembered: false,
		mapping: null,
		problems,
		notes: []
	};
}

/** Headings by column; empty text where a column has none. Wholly empty last columns are left off. */
function headingsOf(sniffed: Sniffed): string[] {
	const { rows, dialect, width } = sniffed;
	const row = dialect.headingRow === null ? [] : rows[dialect.headingRow]!;
	const headings = Array.from({ length: Math.max(row.length, width) }, (_, i) => row[i] ?? '');
	const used = (column: number) =>
		rows.some((cells, at) => at >= dialect.firstDataRow && (cells[column] ?? '').trim() !== '');
	while (headings.length > 1 && headings.at(-1)!.trim() === '' && !used(headings.length - 1))
		headings.pop();
	return headings;
}

/**
 * A stable name for files of one make: delimiter, plain headings and units. The decimal mark isn't part
 * of it, since a file with whole numbers only doesn't show one.
 */
function shapeOf(sniffed: Sniffed, headings: readonly string[]): string {
	const { dialect, rows } = sniffed;
	const units = dialect.unitsRow === null ? [] : rows[dialect.unitsRow]!;
	const parts = headings.map((heading, i) => [
		heading.trim().toLowerCase().normalize('NFC').replace(/\s+/g, ' '),
		(units[i] ?? '').trim().toLowerCase()
	]);
	const text = JSON.stringify([dialect.delimiter, dialect.headingRow !== null, parts]);
	return sha256Hex(new TextEncoder().encode(text)).slice(0, 24);
}

function settledDialect(dialect: Dialect, memory: LogMapping | null): Dialect {
	if (dialect.decimalSure || memory === null) return dialect;
	const { decimal, thousands } = memory.dialect;
	return { ...dialect, decimal, thousands };
}

function dataRows(sniffed: Sniffed): RawRow[] {
	return sniffed.rows
		.map((cells, at) => ({ row: at + 1, cells }))
		.slice(sniffed.dialect.firstDataRow)
		.filter(({ cells }) => cells.some((cell) => cell.trim() !== ''));
}

function preambleOf(sniffed: Sniffed): RawRow[] {
	const { headingRow, firstDataRow } = sniffed.dialect;
	return sniffed.rows
		.slice(0, headingRow ?? firstDataRow)
		.map((cells, at) => ({ row: at + 1, cells }))
		.filter(({ cells }) => cells.some((cell) => cell.trim() !== ''));
}

function factsOf(
	headings: readonly string[],
	sniffed: Sniffed,
	dialect: Dialect,
	data: readonly RawRow[]
) {
	const units = dialect.unitsRow === null ? [] : sniffed.rows[dialect.unitsRow]!;
	const seen = data.slice(0, FACT_ROWS);
	return headings.map((heading, i) => {
		const cells = seen.map((row) => row.cells[i] ?? '');
		return columnFacts(i, heading, units[i] ?? '', cells, dialect);
	});
}

/** The remembered use of each column; it is doubted where this file's values clearly say another unit. */
function recalled(byValues: readonly ColumnGuess[], memory: LogMapping): ColumnGuess[] {
	return byValues.map((guess) => {
		const kept = memory.columns.find((column) => column.index === guess.index);
		if (!kept) return guess;
		const { use, unit, mark } = kept;
		const doubt = guess.use === use && guess.unit !== unit && guess.sureness >= 0.8;
		return {
			index: guess.index,
			heading: guess.heading,
			use,
			unit,
			mark,
			why: doubt
				? `as for the last file of this shape, but here it looks like ${guess.unit}: ${guess.why}`
				: 'as for the last file of this shape',
			sureness: doubt ? 0.5 : 1
		};
	});
}

/** Encoding, delimiter and number style in plain words. */
export function dialectText(encoding: Encoding, dialect: Dialect): string {
	const names = { ',': 'comma', ';': 'semicolon', '\t': 'tab', '|': 'bar' };
	return `${encoding.toUpperCase()}, columns apart by ${names[dialect.delimiter]}, ${styleText(dialect)}`;
}

function undecidedNote(sniffed: Sniffed, fromMemory: boolean): string[] {
	const telling = sniffed.rows
		.slice(sniffed.dialect.firstDataRow)
		.flat()
		.find((cell) => /\d[.,]\d/.test(cell));
	if (telling === undefined) return [];
	const how = fromMemory ? 'read as in the last file of this shape' : 'please check the numbers';
	return [
		`Nothing settles whether ${foundText(telling)} has a decimal or a thousands mark; ${how}.`
	];
}

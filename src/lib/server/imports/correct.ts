/** Corrects how a log file is understood. */
import type { LogKind } from '#lib/domain/curve/log.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { foundText } from './collect.ts';
import { MAX_LOG_BYTES, decode } from './decode.ts';
import { parseCsv } from './csv.ts';
import type { Dialect } from './dialect.ts';
import { columnFacts } from './facts.ts';
import { guessColumns, type ColumnGuess } from './guess.ts';
import type { RawRow } from './logFile.ts';
import { columnName, mappingProblems, type LogMapping } from './mapping.ts';
import type { Decimal } from './number.ts';
import { parseMeaning, type Meaning } from './useWords.ts';

/** What a user says about a file. Columns are by their index; one that isn't named keeps its meaning. */
export interface Correction {
	readonly kind: LogKind;
	readonly decimal: Decimal;
	/** From 1 as a spreadsheet shows it; null when the file has no headings. */
	readonly headingRow: number | null;
	readonly columns: ReadonlyMap<number, Meaning>;
}

const FACT_ROWS = 2000;

/** Reads a correction from a form: `kind`, `decimal`, `heading_row` and `column.0`, `column.1`, ... */
export function parseCorrection(
	fields: Readonly<Record<string, string>>,
	mapping: LogMapping
): Outcome<Correction> {
	const problems: Problem[] = [];
	const { kind = '', decimal = '', heading_row: heading = '' } = fields;
	if (kind !== 'sample' && kind !== 'drum')
		problems.push({ path: 'kind', message: `found ${foundText(kind)}, expected sample or drum` });
	if (decimal !== '.' && decimal !== ',')
		problems.push({
			path: 'decimal',
			message: `found ${foundText(decimal)}, expected a point or a comma`
		});
	const headingRow = heading.trim() === '' ? null : Number(heading);
	if (headingRow !== null && !(Number.isInteger(headingRow) && headingRow >= 1))
		problems.push({
			path: 'heading_row',
			message: `found ${foundText(heading)}, expected a row from 1, or nothing`
		});
	const columns = new Map<number, Meaning>();
	for (const column of mapping.columns) {
		const value = fields[`column.${column.index}`];
		if (value === undefined) continue;
		const meaning = parseMeaning(value);
		if (meaning) columns.set(column.index, meaning);
		else
			problems.push({
				path: columnName(column),
				message: `found ${foundText(value)}, expected a use and a unit of the list`
			});
	}
	if (problems.length > 0) return bad(...problems);
	return good({ kind: kind as LogKind, decimal: decimal as Decimal, headingRow, columns });
}

/**
 * The mapping with a correction. Another heading row makes other columns, which are guessed anew; what was
 * said about the old columns is then left out, and what can't be guessed is for a person to say next.
 */
export function correctMapping(
	bytes: Uint8Array,
	fileName: string,
	mapping: LogMapping,
	{ kind, decimal, headingRow, columns }: Correction
): Outcome<LogMapping> {
	const { dialect: was } = mapping;
	const thousands = was.thousands === decimal ? '' : was.thousands;
	const dialect: Dialect = { ...was, decimal, thousands };
	const at = headingRow === null ? null : headingRow - 1;
	if (at !== was.headingRow)
		return withHeadingRow(bytes, fileName, { ...mapping, kind, dialect }, at);
	const corrected: LogMapping = {
		...mapping,
		kind,
		dialect,
		columns: mapping.columns.map((column) => ({ ...column, ...columns.get(column.index) }))
	};
	const problems = mappingProblems(corrected);
	return problems.length > 0 ? bad(...problems) : good(corrected);
}

/** The meanings, kind and decimal mark of one file's mapping for another file of the same shape. */
export function likeMapping(mapping: LogMapping, example: LogMapping): LogMapping {
	const { decimal, thousands } = example.dialect;
	return {
		...mapping,
		kind: example.kind,
		dialect: { ...mapping.dialect, decimal, thousands },
		columns: mapping.columns.map((column) => {
			const like = example.columns.find((each) => each.index === column.index);
			return like ? { ...column, use: like.use, unit: like.unit, mark: like.mark } : column;
		})
	};
}

/** Whether two mappings of one file read it in the same way. */
export function sameMapping(a: LogMapping, b: LogMapping): boolean {
	const plain = ({ kind, dialect, columns }: LogMapping) => [
		kind,
		dialect.decimal,
		dialect.thousands,
		dialect.headingRow,
		columns.map(({ index, use, unit, mark }) => [index, use, unit, mark])
	];
	return JSON.stringify(plain(a)) === JSON.stringify(plain(b));
}

/** Every row of a file as its mapping splits it, blank ones too; null when it can't be decoded. */
export function rowsBy(
	bytes: Uint8Array,
	fileName: string,
	{ encoding, dialect }: LogMapping
): readonly (readonly string[])[] | null {
	const decoded = decode(bytes, fileName, { maxBytes: MAX_LOG_BYTES, encoding });
	return decoded.ok ? parseCsv(decoded.value.text, dialect.delimiter).rows : null;
}

/** The rows of data among them: those that aren't blank, from the first one on. */
export function dataRowsOf(
	rows: readonly (readonly string[])[],
	{ dialect }: LogMapping
): RawRow[] {
	return rows
		.map((cells, at) => ({ row: at + 1, cells }))
		.slice(dialect.firstDataRow)
		.filter(({ cells }) => cells.some((cell) => cell.trim() !== ''));
}

/** What each column would be guessed to be, by its heading and its values. */
export function guessBy(
	rows: readonly (readonly string[])[],
	mapping: Pick<LogMapping, 'dialect'>,
	headings: readonly string[],
	data: readonly RawRow[]
): ColumnGuess[] {
	const { dialect } = mapping;
	const units = dialect.unitsRow === null ? [] : (rows[dialect.unitsRow] ?? []);
	const seen = data.slice(0, FACT_ROWS);
	return guessColumns(
		headings.map((heading, i) => {
			const cells = seen.map((row) => row.cells[i] ?? '');
			return columnFacts(i, heading, units[i] ?? '', cells, dialect);
		})
	);
}

function withHeadingRow(
	bytes: Uint8Array,
	fileName: string,
	mapping: LogMapping,
	at: number | null
): Outcome<LogMapping> {
	const rows = rowsBy(bytes, fileName, mapping) ?? [];
	const dialect: Dialect = {
		...mapping.dialect,
		headingRow: at,
		unitsRow: null,
		firstDataRow: at === null ? 0 : at + 1
	};
	const moved = { ...mapping, dialect };
	const data = dataRowsOf(rows, moved);
	if (data.length < 2)
		return bad({
			path: 'heading_row',
			message: `found ${data.length} rows of data below row ${(at ?? -1) + 1}, expected at least 2`
		});
	const width = Math.max(...data.slice(0, FACT_ROWS).map(({ cells }) => cells.length));
	const headings = Array.from({ length: width }, (_, i) =>
		at === null ? '' : (rows[at]![i] ?? '')
	);
	const columns = guessBy(rows, moved, headings, data).map(
		({ index, heading, use, unit, mark }) => ({ index, heading, use, unit, mark })
	);
	return good({ ...moved, columns });
}

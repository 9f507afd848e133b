/** Shows a log file as a mapping, guessed or corrected, reads it. Rule 1 of logFile.ts. */
import type { Channel, Mark } from '#lib/domain/curve/log.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import { dataRowsOf, guessBy, rowsBy, sameMapping } from './correct.ts';
import { columnFacts } from './facts.ts';
import type { ColumnGuess, KindGuess } from './guess.ts';
import { dialectText, sniffLog, type RawRow } from './logFile.ts';
import type { ColumnMapping, LogMapping, MappingMemory } from './mapping.ts';
import { readLog } from './readLog.ts';
import { POSSIBLE, toChannelUnit } from './units.ts';
import { meaningText } from './useWords.ts';

export interface ShownColumn extends ColumnMapping {
	/** Why the column was taken for this, data first. */
	readonly why: string;
	/** 0 to 1; null when a person said it. */
	readonly sureness: number | null;
	/** After conversion, in `rangeUnit`; null for a column of words, times or no use. */
	readonly range: { readonly from: number; readonly to: number; readonly unit: string } | null;
	/** As they stand in the file; null without numbers. */
	readonly fileRange: { readonly from: number; readonly to: number } | null;
	/** Values over time, few enough to draw small; empty while the file can't be read. */
	readonly trace: readonly number[];
}

export interface ShownFile {
	readonly dialectText: string;
	readonly rowCount: number;
	readonly preamble: readonly RawRow[];
	readonly firstRows: readonly RawRow[];
	readonly columns: readonly ShownColumn[];
	/** Why the file was taken for this kind of roast; null when a person said it. */
	readonly kindGuess: KindGuess | null;
	/** Whether a person changed what was guessed. */
	readonly corrected: boolean;
	/** Whether the guess comes from an earlier file of this shape. */
	readonly remembered: boolean;
	readonly marks: readonly Mark[];
	readonly lengthS: number | null;
	readonly notes: readonly string[];
	readonly problems: readonly Problem[];
}

const SHOWN_ROWS = 12;
const TRACE_POINTS = 60;

/** The file by `mapping`, beside what it would be guessed to be. Never throws. */
export function previewBy(
	bytes: Uint8Array,
	fileName: string,
	mapping: LogMapping,
	remembered: readonly MappingMemory[]
): ShownFile {
	const sniffed = sniffLog(bytes, fileName, remembered);
	const rows = rowsBy(bytes, fileName, mapping) ?? [];
	const data = dataRowsOf(rows, mapping);
	const headings = mapping.columns.map(({ heading }) => heading);
	const asSniffed = sniffed.mapping?.dialect.headingRow === mapping.dialect.headingRow;
	const guesses = asSniffed ? sniffed.guesses : guessBy(rows, mapping, headings, data);
	const read = readLog(bytes, mapping, fileName);
	const log = read.ok ? read.value.log : null;
	const sample = data.slice(0, 2000);
	return {
		dialectText: dialectText(mapping.encoding, mapping.dialect),
		rowCount: data.length,
		preamble: rows
			.slice(0, mapping.dialect.headingRow ?? mapping.dialect.firstDataRow)
			.map((cells, at) => ({ row: at + 1, cells }))
			.filter(({ cells }) => cells.some((cell) => cell.trim() !== '')),
		firstRows: data.slice(0, SHOWN_ROWS),
		columns: mapping.columns.map((column) => ({
			...column,
			...reasonOf(column, guesses[column.index]),
			...rangeOf(column, sample, mapping),
			trace: traceOf(log?.channels[column.use as Channel])
		})),
		kindGuess: sniffed.kind.kind === mapping.kind ? sniffed.kind : null,
		corrected: sniffed.mapping !== null && !sameMapping(sniffed.mapping, mapping),
		remembered: sniffed.remembered,
		marks: log?.marks ?? [],
		lengthS: log?.timeS.at(-1) ?? null,
		notes: read.ok ? read.value.notes : [],
		problems: read.ok ? [] : read.problems
	};
}

function reasonOf(
	column: ColumnMapping,
	guess: ColumnGuess | undefined
): Pick<ShownColumn, 'why' | 'sureness'> {
	if (!guess) return { why: 'set by hand', sureness: null };
	const same = guess.use === column.use && guess.unit === column.unit && guess.mark === column.mark;
	if (same) return { why: guess.why, sureness: guess.sureness };
	return { why: `set by hand; guessed ${meaningText(guess)}: ${guess.why}`, sureness: null };
}

function rangeOf(
	column: ColumnMapping,
	data: readonly RawRow[],
	{ dialect }: LogMapping
): Pick<ShownColumn, 'range' | 'fileRange'> {
	const cells = data.map((row) => row.cells[column.index] ?? '');
	const { min, max } = columnFacts(column.index, column.heading, '', cells, dialect);
	if (Number.isNaN(min)) return { range: null, fileRange: null };
	const fileRange = { from: min, to: max };
	if (!Object.hasOwn(POSSIBLE, column.use)) return { range: null, fileRange };
	const { unit } = POSSIBLE[column.use as Channel];
	const of = (value: number) => toChannelUnit(value, column.unit);
	return { range: { from: of(min), to: of(max), unit }, fileRange };
}

function traceOf(values: Float64Array | undefined): number[] {
	if (!values) return [];
	const points = Math.min(TRACE_POINTS, values.length);
	const at = (i: number) =>
		values[Math.round((i * (values.length - 1)) / Math.max(1, points - 1))]!;
	return Array.from({ length: points }, (_, i) => at(i)).filter((value) => !Number.isNaN(value));
}

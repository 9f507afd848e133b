/** The time column of a log, in seconds, strictly rising. */
import { foundText } from './collect.ts';
import { columnName } from './mapping.ts';
import { parseClock, parseNumber, parseStamp, styleText, type DateOrder } from './number.ts';
import type { ColumnSource } from './columnSource.ts';
import { withoutUnit } from './dialect.ts';

const DAY_S = 86_400;

/** Seconds of each row on the file's own clock. What isn't a time, or isn't later, is a problem. */
export function readTimes(source: ColumnSource): Float64Array {
	const { column, rows, problems } = source;
	const read = timeReader(source);
	const timesS = new Float64Array(rows.length);
	let previous: { timeS: number; row: number; cell: string } | null = null;
	let addS = 0;
	for (const [i, { row, cells }] of rows.entries()) {
		const cell = cells[column.index] ?? '';
		const own = read.parse(cell);
		const where = `row ${row}, ${columnName(column)}`;
		if (own === null) {
			problems.add(where, `found ${foundText(cell)}, expected ${read.expected}`);
			continue;
		}
		if (previous && passesMidnight(column.unit, previous.timeS - addS, own)) {
			addS += DAY_S;
			source.notes.push(`The clock passes midnight in row ${row}.`);
		}
		const timeS = own + addS;
		timesS[i] = timeS;
		if (previous && timeS <= previous.timeS)
			problems.add(
				where,
				`found ${foundText(cell)} after ${foundText(previous.cell)} in row ${previous.row}, expected a later time`
			);
		else previous = { timeS, row, cell };
	}
	return timesS;
}

/** A clock of the day that goes from the last hour to the first. */
function passesMidnight(unit: string | null, beforeS: number, nowS: number): boolean {
	return unit === 'mm:ss' && beforeS >= DAY_S - 3600 && beforeS < DAY_S && nowS < 3600;
}

interface TimeReader {
	readonly expected: string;
	parse(cell: string): number | null;
}

function timeReader({ column, rows, style }: ColumnSource): TimeReader {
	if (column.unit === 'mm:ss')
		return { expected: 'a clock reading such as 1:30 or 0:01:30', parse: parseClock };
	if (column.unit === 'timestamp') {
		const order = dateOrder(rows.map(({ cells }) => cells[column.index] ?? ''));
		return {
			expected: `a date with a time such as ${STAMP_EXAMPLE[order]}`,
			parse: (cell) => parseStamp(cell, order)
		};
	}
	const factor = column.unit === 'min' ? 60 : column.unit === 'ms' ? 0.001 : 1;
	return {
		expected: `a time in ${column.unit} (${styleText(style)})`,
		parse: (cell) => {
			const value = parseNumber(withoutUnit(cell), style);
			return value === null ? null : value * factor;
		}
	};
}

const STAMP_EXAMPLE: Record<DateOrder, string> = {
	ymd: '2026-11-25 08:30:00',
	dmy: '25/11/2026 08:30:00',
	mdy: '11/25/2026 08:30:00'
};

/**
 * The order of day and month that reads most rows; of two that read as many, the one in which the roast is
 * shorter (9/11 to 9/12 is a night, not a month); then day first.
 */
export function dateOrder(cells: readonly string[]): DateOrder {
	let best: { order: DateOrder; read: number; spanS: number } | null = null;
	for (const order of ['ymd', 'dmy', 'mdy'] as const) {
		const times = cells.map((cell) => parseStamp(cell, order)).filter((time) => time !== null);
		const spanS = times.length > 0 ? times[times.length - 1]! - times[0]! : Infinity;
		const better =
			best === null ||
			times.length > best.read ||
			(times.length === best.read && spanS >= 0 && spanS < best.spanS);
		if (better) best = { order, read: times.length, spanS };
	}
	return best!.order;
}

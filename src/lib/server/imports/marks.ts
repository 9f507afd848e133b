/** Marks in a log's columns: event words, or flags under a heading that names the mark. */
import type { Mark, MarkName } from '#lib/domain/curve/log.ts';
import { foundText } from './collect.ts';
import { columnName } from './mapping.ts';
import { isMissing, parseNumber } from './number.ts';
import type { ColumnSource } from './columnSource.ts';
import { markOf } from './words.ts';

const SET = new Set(['x', 'yes', 'y', 'true', 'on', 'ja', 'si', 'oui', 'sim']);
const UNSET = new Set(['no', 'n', 'false', 'off', 'nein', 'non', 'nao']);
const LISTED_WORDS = 5;

/** The first moment of each mark, in order of time. Times are those of the rows. */
export function readMarks(sources: readonly ColumnSource[], timesS: Float64Array): Mark[] {
	const first = new Map<MarkName, number>();
	for (const source of sources) {
		const hits = source.column.unit === 'flag' ? flagHits(source) : wordHits(source);
		for (const { name, at } of hits) {
			const timeS = timesS[at]!;
			const known = first.get(name);
			if (known === undefined) first.set(name, timeS);
			else if (known !== timeS) {
				first.set(name, Math.min(known, timeS));
				source.notes.push(`The mark ${name} stands more than once; the first counts.`);
			}
		}
	}
	const marks = [...first].map(([name, timeS]) => ({ name, timeS }));
	marks.sort((a, b) => a.timeS - b.timeS);
	checkOrder(first, sources);
	return marks;
}

interface Hit {
	readonly name: MarkName;
	/** Index of the row. */
	readonly at: number;
}

function wordHits({ column, rows, notes }: ColumnSource): Hit[] {
	const hits: Hit[] = [];
	const unknown: string[] = [];
	for (const [at, { row, cells }] of rows.entries()) {
		const cell = cells[column.index] ?? '';
		if (isMissing(cell)) continue;
		const name = markOf(cell);
		// A word repeated down the column (a phase) begins where it first stands.
		if (name && markOf(rows[at - 1]?.cells[column.index] ?? '') !== name) hits.push({ name, at });
		if (!name) unknown.push(`${foundText(cell)} (row ${row})`);
	}
	if (unknown.length > 0) {
		const more = unknown.length - LISTED_WORDS;
		const list = unknown.slice(0, LISTED_WORDS).join(', ') + (more > 0 ? ` and ${more} more` : '');
		notes.push(`Words that are no mark we know, in ${columnName(column)}: ${list}.`);
	}
	return hits;
}

/** A flag that stays set marks the row in which it is set first. */
function flagHits({ column, rows, style, problems }: ColumnSource): Hit[] {
	let hit: Hit | null = null;
	for (const [at, { row, cells }] of rows.entries()) {
		const cell = cells[column.index] ?? '';
		const set = flagOf(cell, (text) => parseNumber(text, style));
		if (set === null)
			problems.add(
				`row ${row}, ${columnName(column)}`,
				`found ${foundText(cell)}, expected 0, 1, x, yes or no`
			);
		else if (set && hit === null && column.mark) hit = { name: column.mark, at };
	}
	return hit ? [hit] : [];
}

function flagOf(cell: string, number: (text: string) => number | null): boolean | null {
	if (isMissing(cell)) return false;
	const word = cell.trim().toLowerCase();
	if (SET.has(word) || markOf(cell) !== null) return true;
	if (UNSET.has(word)) return false;
	const value = number(cell);
	return value === 0 ? false : value === 1 ? true : null;
}

function checkOrder(first: ReadonlyMap<MarkName, number>, sources: readonly ColumnSource[]): void {
	const charge = first.get('charge');
	const drop = first.get('drop');
	if (charge === undefined || drop === undefined || drop > charge) return;
	sources[0]!.problems.add('marks', 'found the drop before the charge, expected it after');
}

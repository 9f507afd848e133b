import type { ProblemList } from './collect.ts';
import type { ColumnMapping } from './mapping.ts';
import type { NumberStyle } from './number.ts';

/** A data row: its number in the file, from 1, and its cells. */
export interface DataRow {
	readonly row: number;
	readonly cells: readonly string[];
}

/** What reading a column needs: its rows, its mapping, and where to say what is wrong. */
export interface ColumnSource {
	readonly column: ColumnMapping;
	readonly rows: readonly DataRow[];
	readonly style: NumberStyle;
	readonly problems: ProblemList;
	readonly notes: string[];
}

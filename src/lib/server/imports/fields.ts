import type { Currency } from '#lib/domain/quantity/money.ts';
import { bad, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { CellContext } from './cells.ts';
import { readCells, type TableSpec } from './tableFile.ts';

/** The text fields of a form as typed; of several with one name the last. */
export function typedFields(form: FormData): Record<string, string> {
	return Object.fromEntries(
		[...form].filter((field): field is [string, string] => typeof field[1] === 'string')
	);
}

/**
 * One record typed into a form, checked by the same rules as a row of its table's file. Field names are
 * the table's headings.
 * @param fields as typed; a missing field counts as blank
 * @returns problems whose paths are field names
 */
export function readFields<T, R>(
	fields: Readonly<Record<string, string>>,
	spec: TableSpec<T, R>,
	siteCurrency: Currency | null
): Outcome<T> {
	const cell = (name: string) => fields[name]?.trim() ?? '';
	const style: CellContext['style'] = { decimal: '.', thousands: '' };
	const context: CellContext = { style, shiftDays: 0, siteCurrency, cell };
	const problems: Problem[] = [];
	const read = readCells(spec, context, (path, message) => problems.push({ path, message }));
	return read === null ? bad(...problems) : spec.finish(read);
}

/** Problems of a record's properties, led to the fields that they were typed into by property or heading. */
export function atFields<T, R>(
	problems: readonly Problem[],
	{ columns }: TableSpec<T, R>
): readonly Problem[] {
	return problems.map(({ path, message }) => {
		const property = path.replace(/^.*\./, '');
		const headings = Object.values<{ readonly name: string }>(columns).map(({ name }) => name);
		if (property in columns) return { path: columns[property as keyof R].name, message };
		return { path: headings.includes(property) ? property : path, message };
	});
}

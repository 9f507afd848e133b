import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { TABLES, type TableFile } from './tables.ts';

/** Files of a form, told apart. */
export interface SortedUploads {
	readonly tables: Partial<Record<TableFile, Uint8Array>>;
	/** By the name they came with. */
	readonly logs: ReadonlyMap<string, Uint8Array>;
}

/**
 * Tables by their names and logs by theirs. Refuses a table file that is none of ours and a name that
 * comes twice; an input left empty is no file.
 */
export async function sortUploads(
	tableFiles: readonly File[],
	logFiles: readonly File[]
): Promise<Outcome<SortedUploads>> {
	const problems: Problem[] = [];
	const tables: Partial<Record<TableFile, Uint8Array>> = {};
	const logs = new Map<string, Uint8Array>();
	const twice = (path: string) =>
		problems.push({ path, message: 'Found two files of this name, expected one.' });
	for (const file of tableFiles.filter(isChosen)) {
		const name = file.name.toLowerCase();
		if (!isTable(name))
			problems.push({
				path: file.name,
				message: `Found a name that is no table’s, expected one of ${Object.keys(TABLES).join(', ')}.`
			});
		else if (tables[name]) twice(file.name);
		else tables[name] = await file.bytes();
	}
	for (const file of logFiles.filter(isChosen)) {
		if (logs.has(file.name)) twice(file.name);
		else logs.set(file.name, await file.bytes());
	}
	if (problems.length === 0 && Object.keys(tables).length === 0)
		problems.push({ path: 'tables', message: 'Found no table file, expected at least one.' });
	return problems.length > 0 ? bad(...problems) : good({ tables, logs });
}

/** The files of a form's input of that name. */
export function filesOf(form: FormData, name: string): File[] {
	return form.getAll(name).filter((each) => each instanceof File);
}

function isChosen(file: File): boolean {
	return file.name !== '' || file.size > 0;
}

function isTable(name: string): name is TableFile {
	return name in TABLES;
}

/** Forms that tests and production batches share: a log taken in afterwards, and the colour value. */
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import * as cell from '#lib/server/imports/cells.ts';
import { readFields } from '#lib/server/imports/fields.ts';
import type { LogInput } from '#lib/server/imports/parseLog.ts';
import { filled, type TableSpec } from '#lib/server/imports/tableFile.ts';
import { coloursTable } from '#lib/server/imports/tables.ts';
import { loadMappingMemories } from '#lib/server/store/intake.ts';
import { readDrumLog, type Fields } from '../tests/forms.server.ts';

/** The drum log of a file field that has to be filled. */
export async function sentLog(
	file: FormDataEntryValue | null,
	{ database }: App.Locals
): Promise<Outcome<LogInput>> {
	if (!(file instanceof File) || file.size === 0)
		return bad({ path: 'log_file', message: 'Found no file, expected a drum log.' });
	const [bytes, remembered] = await Promise.all([
		file.arrayBuffer(),
		loadMappingMemories(database.orm)
	]);
	return readDrumLog(file.name, new Uint8Array(bytes), remembered);
}

interface ColourFields {
	readonly value: number;
	readonly scale: string;
	readonly at: cell.LocalTime;
}

const colourForm: TableSpec<ColourFields> = {
	name: 'colour value',
	columns: {
		value: coloursTable.columns.value,
		scale: coloursTable.columns.scale,
		at: filled('colour_at', cell.localTime)
	},
	finish: good
};

/** A colour value as typed; problem paths are field names. */
export function readColour(fields: Fields): Outcome<ColourFields> {
	return readFields(fields, colourForm, null);
}

/** Forms of the tests' pages: what is typed becomes what an act takes, by the cells of the tables. */
import { readDrum } from '#lib/domain/drum/read.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { CuppingForm } from '#lib/domain/trial/cupping.ts';
import * as cell from '#lib/server/imports/cells.ts';
import { readSheet } from '#lib/server/imports/cuppingFields.ts';
import { readFields } from '#lib/server/imports/fields.ts';
import { sniffLog } from '#lib/server/imports/logFile.ts';
import type { MappingMemory } from '#lib/server/imports/mapping.ts';
import { logInput, type LogInput } from '#lib/server/imports/parseLog.ts';
import {
	filled,
	maybe,
	orElse,
	type Column,
	type TableSpec
} from '#lib/server/imports/tableFile.ts';

/** Fields as typed, to give back with what is wrong with them. */
export type Fields = Readonly<Record<string, string>>;

/** The text fields of a form; files are left out. */
export function fieldsOf(form: FormData): Fields {
	const texts = [...form].filter((pair): pair is [string, string] => typeof pair[1] === 'string');
	return Object.fromEntries(texts);
}

/** What a refused form is answered with: nothing typed is lost. */
export function refused(act: string, fields: Fields, problems: readonly Problem[]) {
	return { act, fields, problems: [...problems] };
}

function form<R>(name: string, columns: { readonly [K in keyof R]: Column<R[K]> }): TableSpec<R> {
	return { name, columns, finish: good };
}

/** A planned test that was roasted. */
export const roastForm = form('test roast', {
	roastedAt: filled('roasted_at', cell.localTime),
	chargeG: filled('charge_kg', cell.kg(0.001, 1000)),
	outG: filled('out_kg', cell.kg(0, 1000)),
	note: orElse('note', cell.text, '')
});

/** What the meters say that a test took. */
export const metersForm = form('meters', {
	gasWh: maybe('gas_kwh', cell.kwh),
	powerWh: maybe('power_kwh', cell.kwh)
});

/** What became of a test's coffee; its time has a name of its own beside that of the verdict. */
export const RECOVERED_AT = 'recovered_at';

const cuppingAbout = form('cupping', {
	cuppedAt: filled('cupped_at', cell.localTime),
	descriptors: orElse('descriptors', cell.text, ''),
	note: orElse('cupping_note', cell.text, '')
});

export interface CuppingFields {
	readonly cuppedAt: cell.LocalTime;
	readonly descriptors: string;
	readonly note: string;
	readonly sheet: CuppingForm;
}

/** One person's cupping, on the form that the field `form` names. */
export function readCupping(fields: Fields): Outcome<CuppingFields> {
	const about = readFields(fields, cuppingAbout, null);
	const sheet = readSheet(fields['form'] === '2024' ? '2024' : '2004', fields);
	if (!about.ok || !sheet.ok)
		return bad(...(about.ok ? [] : about.problems), ...(sheet.ok ? [] : sheet.problems));
	return good({ ...about.value, sheet: sheet.value });
}

/** A column this sure of its use needs no look; one guessed by its values alone is at most 0.4 sure. */
const SURE = 0.8;

/**
 * A drum log that can be taken in without a look at its preview: every column is known for sure and the
 * whole file reads, down to its bean temperature. Anything else is refused with the reasons.
 */
export function readDrumLog(
	fileName: string,
	bytes: Uint8Array,
	remembered: readonly MappingMemory[]
): Outcome<LogInput> {
	const preview = sniffLog(bytes, fileName, remembered);
	if (!preview.mapping || preview.problems.length > 0) return bad(...preview.problems);
	const path = 'log_file';
	const doubts: Problem[] = preview.guesses
		.filter(({ use, sureness }) => use !== 'ignore' && sureness < SURE)
		.map(({ heading, use, why }) => ({
			path,
			message: `Column '${heading}' may be ${use}, but that is not sure: ${why}.`
		}));
	if (preview.kind.kind !== 'drum' || preview.kind.sureness < SURE)
		doubts.push({
			path,
			message: `The file is not surely a drum log (${preview.kind.why}).`
		});
	if (doubts.length > 0) return bad(...doubts);
	const input = logInput(fileName, bytes, preview.mapping);
	if (!input.ok) return input;
	const read = readDrum(input.value.log, { chargeG: null, outG: null });
	return read.ok ? input : bad(...read.problems.map(({ message }) => ({ path, message })));
}

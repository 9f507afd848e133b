/** A cupper's sheet as it is typed or tapped: fields by the form's own names, read by the form's rules. */
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import {
	AFFECTIVE_CUPS,
	AFFECTIVE_SCORES,
	checkCupping,
	SUM_CUPS,
	SUM_DEFECTS,
	SUM_QUALITIES,
	type CuppingForm
} from '#lib/domain/trial/cupping.ts';
import type { FormYear } from '#lib/domain/trial/panel.ts';
import * as cell from './cells.ts';
import { readFields } from './fields.ts';
import { filled, type Column, type TableSpec } from './tableFile.ts';

/** Fields of a sheet by name; what is not filled yet is missing or ''. */
export type SheetFields = Readonly<Record<string, string>>;

/** Any number: what is allowed is the form's own rule, and its words are better. */
const score: cell.CellType<number> = { ...cell.real(-1000, 1000, ''), describe: 'a number' };

/** One column a field of a cupping form. */
function scoreColumns<L extends object>(labels: L): { readonly [K in keyof L]: Column<number> } {
	const names = Object.keys(labels) as (keyof L & string)[];
	return Object.fromEntries(names.map((name) => [name, filled(name, score)])) as never;
}

function spec<R>(name: string, columns: { readonly [K in keyof R]: Column<R[K]> }): TableSpec<R> {
	return { name, columns, finish: good };
}

const sumForm = spec('cupping form of 2004', {
	...scoreColumns(SUM_QUALITIES),
	...scoreColumns(SUM_CUPS),
	...scoreColumns(SUM_DEFECTS)
});

const affectiveForm = spec('cupping form of 2024', {
	...scoreColumns(AFFECTIVE_SCORES),
	...scoreColumns(AFFECTIVE_CUPS)
});

const FORM_FIELDS: Readonly<Record<FormYear, readonly string[]>> = {
	'2004': Object.keys(sumForm.columns),
	'2024': Object.keys(affectiveForm.columns)
};

/** A filled sheet, checked; problems name the fields that are missing or wrong. */
export function readSheet(form: FormYear, fields: SheetFields): Outcome<CuppingForm> {
	if (form === '2024') {
		const read = readFields(fields, affectiveForm, null);
		return read.ok ? checkCupping({ form: 'affective', ...read.value }) : bad(...read.problems);
	}
	const read = readFields(fields, sumForm, null);
	return read.ok ? checkCupping({ form: 'sum', ...read.value }) : bad(...read.problems);
}

/** Ending of the field with the quarters of a quality, where whole points are tapped apart: `.25`. */
export const QUARTERS = '_quarters';
export const MAX_NOTE = 2000;

/**
 * What is kept of a sheet: the form's fields that hold something, quarters joined to their whole points,
 * and descriptors and note. Nothing is refused: a sheet is saved as far as it goes.
 */
export function keptFields(form: FormYear, typed: SheetFields): SheetFields {
	const scores = FORM_FIELDS[form].map((name) => {
		const whole = typed[name]?.trim() ?? '';
		const quarters = typed[`${name}${QUARTERS}`] ?? '';
		const isWhole = /^\d+$/.test(whole) && /^\.\d+$/.test(quarters);
		return [name, isWhole ? `${whole}${quarters}` : whole] as const;
	});
	const words = ['descriptors', 'note'].map(
		(name) => [name, (typed[name]?.trim() ?? '').slice(0, MAX_NOTE)] as const
	);
	return Object.fromEntries([...scores, ...words].filter(([, value]) => value !== ''));
}

/** The fields that a filled sheet was read from. */
export function fieldsOfSheet(sheet: CuppingForm): SheetFields {
	const { form: _, ...scores } = sheet;
	return Object.fromEntries(Object.entries(scores).map(([name, value]) => [name, String(value)]));
}

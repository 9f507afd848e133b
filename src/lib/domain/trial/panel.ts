import { mean } from '../stats/summary.ts';
import { cuppingScore, type CuppingForm } from './cupping.ts';

/**
 * What a panel found of one coffee, form by form.
 *
 * 1. A cupper who scored the coffee more than once counts once, with the mean of the own scores: the
 *    panel's mean is that of the cuppers.
 * 2. The spread is the highest cupper's score less the lowest; one cupper has none.
 * 3. Cups with a taint or a fault (that differ or are defective on the form of 2024) are counted over all
 *    sheets.
 */

/** The two forms by their years. */
export type FormYear = '2004' | '2024';

/** The form that a filled sheet is on. */
export function formOf(sheet: CuppingForm): FormYear {
	return sheet.form === 'sum' ? '2004' : '2024';
}

/** One cupper's filled sheet of a coffee. */
export interface Sheet {
	readonly by: string;
	readonly sheet: CuppingForm;
}

export interface PanelResult {
	readonly form: FormYear;
	/** Points of the form. */
	readonly mean: number;
	readonly lowest: number;
	readonly highest: number;
	/** Points between the highest and the lowest cupper; null with one. */
	readonly spread: number | null;
	readonly cuppers: number;
	readonly sheets: number;
	readonly taintCups: number;
	readonly faultCups: number;
}

/** The results of one coffee, the form of 2004 first; a form without a sheet is left out. */
export function panelResults(sheets: readonly Sheet[]): PanelResult[] {
	return (['2004', '2024'] as const).flatMap((form) => {
		const onForm = sheets.filter(({ sheet }) => formOf(sheet) === form);
		return onForm.length > 0 ? [resultOf(form, onForm)] : [];
	});
}

function resultOf(form: FormYear, sheets: readonly Sheet[]): PanelResult {
	const scores = [...Map.groupBy(sheets, ({ by }) => by).values()].map((own) =>
		mean(own.map(({ sheet }) => cuppingScore(sheet)))
	);
	const [lowest, highest] = [Math.min(...scores), Math.max(...scores)];
	const cups = sheets.map(({ sheet }) => spoiltCups(sheet));
	return {
		form,
		mean: mean(scores),
		...{ lowest, highest },
		spread: scores.length > 1 ? highest - lowest : null,
		cuppers: scores.length,
		sheets: sheets.length,
		taintCups: cups.reduce((sum, { taint }) => sum + taint, 0),
		faultCups: cups.reduce((sum, { fault }) => sum + fault, 0)
	};
}

function spoiltCups(sheet: CuppingForm): { taint: number; fault: number } {
	return sheet.form === 'sum'
		? { taint: sheet.taintCups, fault: sheet.faultCups }
		: { taint: sheet.nonUniformCups, fault: sheet.defectiveCups };
}

import { monthOf } from '#lib/domain/quantity/week.ts';
import { CUTS, type Cut, type CostFilter, type StatementView } from './cost.ts';
import { dayWords } from './words.ts';

/** A statement in words, for papers and file names. */

/** What each cut is called. */
export const CUT_WORDS: { readonly [cut in Cut]: string } = {
	month: 'Month',
	lot: 'Lot',
	origin: 'Origin',
	kind: 'Process',
	roaster: 'Roaster',
	supplier: 'Supplier',
	reason: 'Reason for the test'
};

/** `1 Dec 2025 to 25 Nov 2026`, `everything up to 25 Nov 2026`. */
export function spanWords({ from, to }: Pick<StatementView, 'from' | 'to'>): string {
	return from === null
		? `Everything up to ${dayWords(to)}`
		: `${dayWords(from)} to ${dayWords(to)}`;
}

/** `Lot HR-141, Process washed`; empty where nothing is left out. */
export function filterWords(filter: CostFilter): string {
	return CUTS.flatMap((cut) =>
		filter[cut] === null ? [] : [`${CUT_WORDS[cut]} ${filter[cut]}`]
	).join(', ');
}

/** `test-costs-by-lot-2026-11`, for a file. */
export function fileStem({ cut, period, to }: StatementView): string {
	return `test-costs-by-${cut}-${period ?? `to-${monthOf(to)}`}`;
}

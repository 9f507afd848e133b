import { type Currency, formatMoney, type Money, negate, sum } from '../quantity/money.ts';
import type { InstantMs, Day } from '../quantity/time.ts';
import {
	ITEM_LABELS,
	type LandedCost,
	type LandedItem,
	type LandedLine,
	landedOf
} from './landed.ts';

/**
 * Invoices that come after the terms.
 *
 * 1. An invoice replaces the estimate of its kind; several of a kind are summed.
 * 2. Other costs are added, a credit note is taken off; neither replaces anything.
 * 3. A credit note for the weight claim replaces the claim that the terms give.
 */

export const INVOICE_KINDS = [
	'coffee',
	'freight',
	'insurance',
	'duty',
	'port',
	'warehouse',
	'finance',
	'other',
	'weight claim',
	'credit note'
] as const;
export type InvoiceKind = (typeof INVOICE_KINDS)[number];

/** An invoice as it counts: in the site's currency, since when. */
export interface PostedInvoice {
	readonly id: number;
	readonly kind: InvoiceKind;
	readonly number: string;
	readonly day: Day;
	readonly postedAt: InstantMs;
	/** Above zero, for credits too. */
	readonly amount: Money;
	/** How the amount came into the site's currency; '' where it was in it. */
	readonly rateWords: string;
}

/** Whether an invoice of a kind lowers the cost. */
export function isCredit(kind: InvoiceKind): boolean {
	return kind === 'weight claim' || kind === 'credit note';
}

/** The item of a landed cost that invoices of a kind stand for. */
export function itemOf(kind: InvoiceKind): LandedItem {
	return kind === 'coffee' ? 'goods' : kind;
}

/** A landed cost with the estimates replaced by what was invoiced (rules 1 to 3). */
export function settled(landed: LandedCost, invoices: readonly PostedInvoice[]): LandedCost {
	if (invoices.length === 0) return landed;
	const byItem = Map.groupBy(invoices, (each) => itemOf(each.kind));
	const known = new Set(landed.lines.map((line) => line.item));
	const replaced = landed.lines.map((line) => {
		const own = byItem.get(line.item);
		return own ? invoicedLine(line.item, own, line.money, landed.currency) : line;
	});
	const added = [...byItem]
		.filter(([item]) => !known.has(item))
		.map(([item, own]) => invoicedLine(item, own, null, landed.currency));
	return landedOf([...replaced, ...added], landed);
}

function invoicedLine(
	item: LandedItem,
	own: readonly PostedInvoice[],
	estimate: Money | null,
	currency: Currency
): LandedLine {
	const documents = own.map(
		({ number, day, amount, rateWords }) =>
			`${number} of ${day}, ${formatMoney(amount)}${rateWords && ` (${rateWords})`}`
	);
	const was = estimate === null ? '' : `; in place of the estimate of ${formatMoney(estimate)}`;
	return {
		item,
		label: ITEM_LABELS[item],
		money: sum(
			own.map(({ kind, amount }) => (isCredit(kind) ? negate(amount) : amount)),
			currency
		),
		howWorked: `invoiced: ${documents.join('; ')}${was}`,
		estimate
	};
}

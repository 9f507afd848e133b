import { addDays } from '#lib/domain/quantity/week.ts';
import { splitWhole } from '#lib/domain/quantity/share.ts';
import { dayOfStamp, weekIndexOf } from './calendar.ts';
import { PEOPLE, SITE } from './cast.ts';
import { chanceFrom } from './chance.ts';
import type { LotStory } from './story.ts';
import { rateOf, TERMS_HEADINGS } from './terms.ts';
import { kg, num, type Cell } from './text.ts';

/**
 * What came into use late in the story: a table of exchange rates in place of rates in the terms, shipped
 * weights with a franchise, bags weighed one by one, and invoices after the estimates. All invented.
 */

/** Lots entered from this day on are kept that way. */
const LATE_FROM = '2026-04-01';

interface Coded {
	readonly code: string;
	readonly lot: LotStory;
}

function isLate(lot: LotStory): boolean {
	return dayOfStamp(lot.createdAt) >= LATE_FROM;
}

const column = (name: (typeof TERMS_HEADINGS)[number]) => TERMS_HEADINGS.indexOf(name);

/** Terms with their shipped weight and franchise; the rate of foreign ones stands in the table of rates. */
export function laterTerms(lot: LotStory, row: readonly Cell[]): Cell[] {
	if (!isLate(lot) || row[column('incoterm')] !== 'FOB') return [...row, '', ''];
	const own = row.map((cell, i) => (i === column('fx_rate') ? '' : cell));
	return [...own, kg(lot.bags * lot.chain.bagKg * 1000), num(0.5, 1)];
}

/** Weights of the bags of a receipt, `1:69.8; 2:70.1`. */
export function bagsCell(lot: LotStory, kind: string, massG: number): Cell {
	if (!isLate(lot) || kind !== 'received') return '';
	const chance = chanceFrom(`bags ${lot.key}`);
	const even = splitWhole(massG / 100, Array<number>(lot.bags).fill(1));
	const parts = even.map((tenths) => tenths * 100);
	for (let i = 0; i + 1 < parts.length; i += 2) {
		const shiftG = Math.round(chance.between(-3, 3)) * 100;
		parts[i]! += shiftG;
		parts[i + 1]! -= shiftG;
	}
	return parts.map((part, i) => `${i + 1}:${kg(part)}`).join('; ');
}

export const INVOICE_HEADINGS = [
	...['lot', 'day', 'kind', 'number', 'amount', 'currency', 'fx_rate', 'note', 'by']
] as const;

/** Invoices of late lots that came; freight in the price's currency, port in the site's. */
export function invoiceRows(
	lots: readonly Coded[],
	termsOf: (lot: Coded) => readonly Cell[]
): Cell[][] {
	const rows = lots.flatMap((coded, i): Cell[][] => {
		const { code, lot } = coded;
		const terms = termsOf(coded);
		if (!isLate(lot) || !lot.receivedAt || terms[column('incoterm')] !== 'FOB') return [];
		const chance = chanceFrom(`invoices ${lot.key}`);
		const arrived = dayOfStamp(lot.receivedAt);
		const amount = (name: 'freight' | 'port') =>
			num(Number(terms[column(name)]) * chance.between(0.96, 1.14), 2);
		const due = (days: number) => addDays(arrived, days);
		const by = PEOPLE.operations;
		return [
			[code, due(9), 'port', `PC-${7300 + i * 3}`, amount('port'), SITE.currency, '', '', by],
			[
				...[code, due(16), 'freight', `SL-${4100 + i * 7}`, amount('freight')],
				...[terms[column('currency')] ?? '', '', 'Final freight', by]
			]
		];
	});
	return rows
		.filter(([, day]) => String(day) < LAST_DAY)
		.sort((a, b) => (key(a) < key(b) ? -1 : 1));
}

/** Nothing that has happened is dated on or after the anchor. */
const LAST_DAY = '2026-11-21';

function key(row: readonly Cell[]): string {
	return `${row[1]} ${row[0]} ${row[2]}`;
}

export const RATE_HEADINGS = ['day', 'from', 'to', 'rate', 'source'] as const;

/** The rate of every day on which late terms were fixed or a foreign invoice came. */
export function rateRows(
	lots: readonly Coded[],
	termsOf: (lot: Coded) => readonly Cell[],
	invoices: readonly (readonly Cell[])[]
): Cell[][] {
	const rates = new Map<string, Cell>();
	for (const coded of lots) {
		const terms = termsOf(coded);
		const currency = String(terms[column('currency')]);
		if (!isLate(coded.lot) || currency === SITE.currency) continue;
		rates.set(`${String(terms[column('fx_on')])} ${currency}`, terms[column('fx_rate')] ?? '');
	}
	for (const row of invoices) {
		const [day, currency] = [String(row[1]), String(row[5])];
		if (currency === SITE.currency || rates.has(`${day} ${currency}`)) continue;
		rates.set(`${day} ${currency}`, num(rateOf(currency, weekIndexOf(day)), 4));
	}
	return [...rates]
		.sort(([a], [b]) => (a < b ? -1 : 1))
		.map(([dayAndCurrency, rate]) => {
			const [day = '', currency = ''] = dayAndCurrency.split(' ');
			return [day, currency, SITE.currency, rate, 'bank, noon'];
		});
}

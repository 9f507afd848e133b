import { ITEM_LABELS } from '#lib/domain/cost/landed.ts';
import { rateTable } from '#lib/domain/cost/fx.ts';
import { isCredit } from '#lib/domain/cost/invoice.ts';
import type { LotValue } from '#lib/domain/cost/greenValue.ts';
import { buyerPays, CHARGES, whyCharged, type Incoterm } from '#lib/domain/cost/terms.ts';
import { bagStocks, type BagStock } from '#lib/domain/ledger/bags.ts';
import { firstOpenMonth } from '#lib/domain/ledger/period.ts';
import { formatPriceE4, money, negate, type Money } from '#lib/domain/quantity/money.ts';
import type { Day, InstantMs } from '#lib/domain/quantity/time.ts';
import { dayOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../../db/client.ts';
import {
	loadBagRows,
	loadClosedMonths,
	loadInvoices,
	loadRates,
	type BagRow,
	type InvoiceRow
} from '../../store/ledger.ts';
import { loadMovements, loadPriceTerms, type Lot } from '../../store/lots.ts';
import type { Site } from '../../store/site.ts';
import { loadLotValues, postedInvoice } from '../greenValue.ts';
import { momentOf, type Moment } from '../moment.ts';

/** A charge and whether the lot's incoterm has the buyer pay it. */
export interface ChargeView {
	readonly label: string;
	readonly isCharged: boolean;
	readonly why: string;
	/** In the landed cost now; null where the terms name none. */
	readonly counted: Money | null;
}

export interface InvoiceView {
	readonly id: number;
	readonly day: Day;
	readonly kind: string;
	readonly number: string;
	/** As written on it; below zero for a credit. */
	readonly amount: Money;
	/** In the site's currency; null without a rate. */
	readonly counted: Money | null;
	/** `; GBP 0.76 for USD 1 on …`, or ''. */
	readonly rateWords: string;
	/** The day it counts from, where its own lay in a closed period. */
	readonly countsFrom: Day | null;
	readonly note: string;
	readonly by: string;
}

/** A change of cost after coffee had come, and how it was shared. */
export interface CorrectionView {
	readonly key: string;
	readonly at: Moment;
	readonly because: string;
	readonly difference: Money;
	readonly onHand: Money;
	readonly used: Money;
	readonly toCome: Money;
	/** What the used share was used for, in words. */
	readonly uses: readonly { readonly use: string; readonly massG: number; readonly money: Money }[];
	readonly onHandG: number;
	readonly usedG: number;
}

export interface LotLedgerView {
	readonly charges: readonly ChargeView[];
	/** Why the lot can't be costed although it has terms. */
	readonly problem: string | null;
	readonly invoices: readonly InvoiceView[];
	/** Newest first. */
	readonly corrections: readonly CorrectionView[];
	/** What is on hand is worth; null without a cost. */
	readonly value: {
		readonly average: Money;
		readonly fifo: Money;
		/** Landed cost of a kilogram as known now. */
		readonly perKg: string | null;
	} | null;
	readonly bags: readonly (BagStock & { readonly weighed: boolean })[];
	/** Grams on hand that are in no bag. */
	readonly looseG: number;
	/** Bags of a movement by its id, `3 (20.5 kg), 4 (60 kg)`. */
	readonly partsOf: Readonly<Record<number, string>>;
	/** When a movement happened that counts later, by its id. */
	readonly happened: Readonly<Record<number, Moment>>;
	/** First month that is not closed; null when none is. */
	readonly openFrom: string | null;
	readonly invoiceForm: Readonly<Record<string, string>>;
}

/** The money and the bags of one lot, for its page. */
export async function loadLotLedger(
	db: Reader,
	site: Site,
	lot: Lot,
	now: InstantMs
): Promise<LotLedgerView> {
	const [values, invoices, rates, bagRows, movements, terms, closed] = await Promise.all([
		loadLotValues(db, site, lot.id),
		loadInvoices(db, lot.id),
		loadRates(db),
		loadBagRows(db, lot.id),
		loadMovements(db, lot.id),
		loadPriceTerms(db, lot.id),
		loadClosedMonths(db)
	]);
	const value = values.get(lot.id)!;
	const zone = site.timeZone;
	const table = rateTable(rates);
	const onHandG = movements.reduce((sum, { massG }) => sum + massG, 0);
	const bags = bagsView(bagRows);
	const late = movements.filter(({ happenedAt }) => happenedAt !== null);
	return {
		charges: terms[0] ? chargesOf(terms[0].incoterm as Incoterm, value) : [],
		problem: value.problem?.message ?? null,
		invoices: invoices.map((row) =>
			invoiceView(row, postedInvoice(row, table, site.currency), zone)
		),
		corrections: correctionsOf(value, invoices, zone).toReversed(),
		value: worthOf(value),
		bags,
		looseG: onHandG - bags.reduce((sum, bag) => sum + bag.onHandG, 0),
		partsOf: partsInWords(bagRows),
		happened: Object.fromEntries(late.map((row) => [row.id, momentOf(row.happenedAt!, zone)])),
		openFrom: firstOpenMonth(closed),
		invoiceForm: {
			day: dayOf(now, zone),
			kind: 'freight',
			currency: terms[0]?.currency ?? site.currency
		}
	};
}

function chargesOf(incoterm: Incoterm, { landed }: LotValue): ChargeView[] {
	return CHARGES.map((charge) => {
		const line = landed?.lines.find(({ item }) => item === charge);
		return {
			label: ITEM_LABELS[charge],
			isCharged: buyerPays(charge, incoterm),
			why: whyCharged(charge, incoterm),
			counted: line?.money ?? null
		};
	});
}

function invoiceView(
	row: InvoiceRow,
	posted: ReturnType<typeof postedInvoice>,
	zone: string
): InvoiceView {
	const sign = (amount: Money) => (isCredit(row.kind) ? negate(amount) : amount);
	const countsFrom = dayOf(row.postedAt, zone);
	return {
		...{ id: row.id, day: row.day, kind: row.kind, number: row.number },
		amount: sign(money(row.amountMinor, row.currency)),
		counted: posted.ok ? sign(posted.value.amount) : null,
		rateWords: posted.ok ? posted.value.rateWords : '',
		countsFrom: countsFrom === row.day ? null : countsFrom,
		note: row.note,
		by: row.by
	};
}

/** Corrections of a lot's cost, oldest first. */
export function correctionsOf(
	{ steps, currency }: LotValue,
	invoices: readonly InvoiceRow[],
	zone: string
): CorrectionView[] {
	const byId = new Map(invoices.map((row) => [row.id, row]));
	const of = (minor: number) => money(minor, currency);
	return steps.flatMap(({ event, sharing, invoiceId }, i): CorrectionView[] => {
		if (event.kind !== 'correct' || !sharing) return [];
		const row = byId.get(invoiceId ?? -1);
		return [
			{
				key: `${event.at} ${i}`,
				at: momentOf(event.at, zone),
				because: row ? `${row.kind} ${row.number}` : 'new terms',
				difference: of(event.minor),
				onHand: of(sharing.onHandMinor),
				used: of(sharing.usedMinor),
				toCome: of(sharing.toComeMinor),
				uses: sharing.byUse.map(({ use, massG, minor }) => ({ use, massG, money: of(minor) })),
				onHandG: sharing.onHandG,
				usedG: sharing.usedG
			}
		];
	});
}

function worthOf({ steps, currency, landed }: LotValue): LotLedgerView['value'] {
	const last = steps.at(-1);
	if (!last?.isCosted) return null;
	return {
		average: money(last.value.averageMinor, currency),
		fifo: money(last.value.fifoMinor, currency),
		perKg: landed ? formatPriceE4(landed.perKgE4, currency, { symbol: true }) : null
	};
}

function bagsView(rows: readonly BagRow[]): LotLedgerView['bags'] {
	const weighed = new Set(rows.filter((row) => row.weighed).map((row) => row.bag));
	return bagStocks(rows).map((stock) => ({ ...stock, weighed: weighed.has(stock.bag) }));
}

/** A delivery's bags as a run, `1 to 41`; of anything else each bag with what it gave. */
function partsInWords(rows: readonly BagRow[]): Record<number, string> {
	const byMovement = Map.groupBy(rows, (row) => row.movementId);
	return Object.fromEntries(
		[...byMovement].map(([id, parts]) => {
			const numbers = parts.map(({ bag }) => bag);
			const isRun = numbers.length > 3 && numbers.every((n, i) => n === numbers[0]! + i);
			const text = isRun
				? `${numbers[0]} to ${numbers.at(-1)}`
				: parts.length === 1
					? `${numbers[0]}`
					: parts.map(({ bag, massG }) => `${bag} (${Math.abs(massG) / 1000} kg)`).join(', ');
			return [id, text];
		})
	);
}

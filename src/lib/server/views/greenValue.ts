import { rateOfDay, rateTable, statedRate, type RateTable } from '#lib/domain/cost/fx.ts';
import {
	lotMonths,
	lotValue,
	summedMovements,
	type LotMonth,
	type LotRecords,
	type LotValue,
	type PostedTerms
} from '#lib/domain/cost/greenValue.ts';
import type { PostedInvoice } from '#lib/domain/cost/invoice.ts';
import type { PriceTerms } from '#lib/domain/cost/terms.ts';
import { fromMajor, money, toMajor } from '#lib/domain/quantity/money.ts';
import { times } from '#lib/domain/quantity/decimal.ts';
import { good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { dayOf, instantAt, monthOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { BY_THE_TABLE } from '../db/schema.ts';
import { loadInvoices, loadRates, type InvoiceRow } from '../store/ledger.ts';
import {
	loadLots,
	loadPriceTerms,
	loadStockMovements,
	type Lot,
	type LotIds,
	type PriceTermsRow,
	type StockMovement
} from '../store/lots.ts';
import type { Site } from '../store/site.ts';

/** What the green of every lot costs at every moment, by lot id; of those asked for where ids are given. */
export async function loadLotValues(
	db: Reader,
	site: Site,
	lotIds?: LotIds
): Promise<Map<number, LotValue>> {
	const records = await loadLotsRecords(db, site, lotIds);
	return new Map([...records].map(([id, own]) => [id, lotValue(own)]));
}

/** The same with what left summed (domain/cost/greenValue, rule 5), and the lot at the end of its months. */
export async function loadSummedValues(
	db: Reader,
	site: Site,
	lotIds: LotIds
): Promise<Map<number, { readonly value: LotValue; readonly months: readonly LotMonth[] }>> {
	const records = await loadLotsRecords(db, site, lotIds);
	return new Map(
		[...records].map(([id, own]) => {
			const value = lotValue({ ...own, movements: summedMovements(own) });
			return [id, { value, months: lotMonths(value, own.monthOf) }];
		})
	);
}

async function loadLotsRecords(
	db: Reader,
	site: Site,
	lotIds?: LotIds
): Promise<Map<number, LotRecords>> {
	const [lots, terms, invoices, movements, rates] = await Promise.all([
		loadLots(db, lotIds),
		loadPriceTerms(db, lotIds),
		loadInvoices(db, lotIds),
		loadStockMovements(db, lotIds),
		loadRates(db)
	]);
	const table = rateTable(rates);
	const termsByLot = Map.groupBy(terms, (row) => row.lotId);
	const invoicesOf = Map.groupBy(invoices, (row) => row.lotId);
	const movementsOf = Map.groupBy(movements, (row) => row.lotId);
	return new Map(
		lots.map((lot) => [
			lot.id,
			recordsOf(site, table, lot, {
				terms: termsByLot.get(lot.id) ?? [],
				invoices: invoicesOf.get(lot.id) ?? [],
				movements: movementsOf.get(lot.id) ?? []
			})
		])
	);
}

interface LotRows {
	/** Newest first. */
	readonly terms: readonly PriceTermsRow[];
	readonly invoices: readonly InvoiceRow[];
	readonly movements: readonly StockMovement[];
}

function recordsOf(site: Site, table: RateTable, lot: Lot, rows: LotRows): LotRecords {
	const { currency, timeZone } = site;
	const invoices = rows.invoices.map((row) => postedInvoice(row, table, currency));
	const missing = invoices.flatMap((each) => (each.ok ? [] : each.problems))[0] ?? null;
	return {
		currency,
		expectedG: lot.bagG * lot.bagsExpected,
		terms: inForce(
			rows.terms.toReversed().map((row) => postedTerms(row, lot, table, site, missing))
		),
		invoices: invoices.flatMap((each) => (each.ok ? [each.value] : [])),
		movements: rows.movements,
		monthOf: (at) => monthOf(dayOf(at, timeZone))
	};
}

/** Price terms as the cost rules take them. */
export function termsOf({ fxE6, ...row }: PriceTermsRow, bagG: number): PriceTerms {
	return { ...row, bagG, fxE6: fxE6 === BY_THE_TABLE ? null : fxE6 } as PriceTerms;
}

/** Terms that are replaced before they count are left out. */
function inForce(terms: readonly PostedTerms[]): PostedTerms[] {
	return terms.filter(
		({ postedAt }, i) => !terms.slice(i + 1).some((later) => later.postedAt < postedAt)
	);
}

/**
 * Terms from when they count. By the table of rates they count from the month of their fixing day at the
 * earliest: a rate that is entered later then changes nothing in months before, which may be closed.
 */
function postedTerms(
	row: PriceTermsRow,
	lot: Lot,
	table: RateTable,
	{ currency, timeZone }: Site,
	missing: Problem | null
): PostedTerms {
	const terms = termsOf(row, lot.bagG);
	if (terms.fxE6 !== null || terms.currency === currency)
		return { terms, postedAt: row.postedAt, rate: null, problem: missing };
	const fixing = instantAt(`${monthOf(terms.fxOn)}-01`, 0, timeZone);
	const postedAt = Math.max(row.postedAt, fixing);
	const rate = rateOfDay(table, terms.currency, currency, terms.fxOn);
	if (rate.ok) return { terms, postedAt, rate: rate.value, problem: missing };
	return { terms, postedAt, rate: null, problem: rate.problems[0]! };
}

/** An invoice in the site's currency, rounded once. */
export function postedInvoice(
	row: InvoiceRow,
	table: RateTable,
	currency: string
): Outcome<PostedInvoice> {
	const { id, kind, number, day, postedAt } = row;
	const used =
		row.fxE6 === null || row.currency === currency
			? rateOfDay(table, row.currency, currency, day)
			: good(statedRate(row.currency, currency, row.fxE6, day));
	if (!used.ok) return used;
	const { rate, words } = used.value;
	const amount = fromMajor(times(toMajor(money(row.amountMinor, row.currency)), rate), currency);
	return good({ ...{ id, kind, number, day, postedAt, amount }, rateWords: words });
}

import { rateOfDay, rateTable, statedRate, type RateTable } from '#lib/domain/cost/fx.ts';
import { lotValue, type LotValue, type PostedTerms } from '#lib/domain/cost/greenValue.ts';
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
	loadMovements,
	loadPriceTerms,
	type Lot,
	type MovementRow,
	type PriceTermsRow
} from '../store/lots.ts';
import type { Site } from '../store/site.ts';

/** What the green of every lot costs at every moment, by lot id; of one where an id is given. */
export async function loadLotValues(
	db: Reader,
	site: Site,
	lotId?: number
): Promise<Map<number, LotValue>> {
	const [lots, terms, invoices, movements, rates] = await Promise.all([
		loadLots(db),
		loadPriceTerms(db, lotId),
		loadInvoices(db, lotId),
		loadMovements(db, lotId),
		loadRates(db)
	]);
	const table = rateTable(rates);
	const termsByLot = Map.groupBy(terms, (row) => row.lotId);
	const invoicesOf = Map.groupBy(invoices, (row) => row.lotId);
	const movementsOf = Map.groupBy(movements, (row) => row.lotId);
	const wanted = lots.filter((lot) => lotId === undefined || lot.id === lotId);
	return new Map(
		wanted.map((lot) => [
			lot.id,
			valueOf(site, table, lot, {
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
	readonly movements: readonly MovementRow[];
}

function valueOf(site: Site, table: RateTable, lot: Lot, rows: LotRows): LotValue {
	const { currency, timeZone } = site;
	const months = new Map<string, string>();
	const invoices = rows.invoices.map((row) => postedInvoice(row, table, currency));
	const missing = invoices.flatMap((each) => (each.ok ? [] : each.problems))[0] ?? null;
	return lotValue({
		currency,
		expectedG: lot.bagG * lot.bagsExpected,
		terms: inForce(
			rows.terms.toReversed().map((row) => postedTerms(row, lot, table, site, missing))
		),
		invoices: invoices.flatMap((each) => (each.ok ? [each.value] : [])),
		movements: rows.movements,
		monthOf: (at) => {
			const day = dayOf(at, timeZone);
			const month = months.get(day) ?? monthOf(day);
			months.set(day, month);
			return month;
		}
	});
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

import type { LotMonth } from '#lib/domain/cost/greenValue.ts';
import { bagStocks } from '#lib/domain/ledger/bags.ts';
import { lotBalance, unexplainedG, type LotBalance } from '#lib/domain/ledger/ledger.ts';
import { checkClose, firstOpenMonth, nextMonth } from '#lib/domain/ledger/period.ts';
import { money, type Money } from '#lib/domain/quantity/money.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { dayOf, monthOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadBagRows, loadPeriods, type BagRow } from '../store/ledger.ts';
import { loadLotRecords } from '../store/lotRecords.ts';
import { loadKindSums, type Lot } from '../store/lots.ts';
import { requireSite } from '../store/site.ts';
import { loadLotCosts, type LotCosts } from './costing.ts';
import { momentOf, type Moment } from './moment.ts';
import { countryName, lotHref } from './places.ts';

/** The stock of all lots, by weight, bag and value. */

export const STOCK_SORTS = ['lot', 'on-hand', 'average', 'fifo'] as const;

export interface StockQuery {
	readonly q: string;
	/** `held`: lots with stock; `all`: every lot that ever came. */
	readonly show: string;
	readonly sort: { readonly key: string; readonly descending: boolean } | null;
	/** From 1. */
	readonly page: number;
}

const LOTS_ON_A_PAGE = 200;

export interface StockLot {
	readonly code: string;
	readonly name: string;
	readonly kind: string;
	readonly href: string;
	readonly balance: LotBalance;
	/** Always 0: what the sum doesn't explain. */
	readonly unexplainedG: number;
	readonly bagsWhole: number;
	readonly bagsOpen: number;
	/** Null where the lot has no cost; `missing` says why. */
	readonly average: Money | null;
	readonly fifo: Money | null;
	readonly missing: string | null;
}

export interface StockView {
	readonly currency: string;
	readonly lots: readonly StockLot[];
	readonly total: LotBalance;
	readonly average: Money;
	readonly fifo: Money;
	/** Lots with stock and no cost: the values leave them out. */
	readonly uncosted: number;
	readonly found: number;
	readonly all: number;
	readonly page: number;
	readonly pageSize: number;
	/** Months up to this one are closed; null when none is. */
	readonly openFrom: string | null;
}

/** The stock of the lots that a query leaves, a page of them, with the sums of all. */
export async function loadStock(db: Reader, query: StockQuery): Promise<StockView> {
	const site = await requireSite(db);
	const [records, costs, periods] = await Promise.all([
		loadLotRecords(db),
		loadLotCosts(db),
		loadPeriods(db)
	]);
	const came = [...records.values()].filter(({ lot }) => costs.get(lot.id)!.months.length > 0);
	const found = came
		.filter(({ events }) => query.show === 'all' || events.onHandG > 0)
		.filter(({ lot }) => matches(lot, query.q))
		.map(({ lot, events }) => heldLot(lot, events.onHandG, costs.get(lot.id)!, site.currency));
	const sumOf = (pick: (held: HeldLot) => Money | null) =>
		money(
			found.reduce((sum, held) => sum + (pick(held)?.minor ?? 0), 0),
			site.currency
		);
	const pages = Math.max(1, Math.ceil(found.length / LOTS_ON_A_PAGE));
	const page = Math.min(Math.max(1, query.page), pages);
	const shown = sorted(found, query.sort).slice((page - 1) * LOTS_ON_A_PAGE, page * LOTS_ON_A_PAGE);
	const ids = (held: readonly HeldLot[]) => held.map(({ lot }) => lot.id);
	const [sums, bagRows] = await Promise.all([
		loadKindSums(db, ids(found)),
		loadBagRows(db, ids(shown))
	]);
	const sumsOf = Map.groupBy(sums, (row) => row.lotId);
	const bagsOf = Map.groupBy(bagRows, (row) => row.lotId);
	return {
		currency: site.currency,
		lots: shown.map((held) =>
			stockLot(held, lotBalance(sumsOf.get(held.lot.id) ?? []), bagsOf.get(held.lot.id) ?? [])
		),
		total: lotBalance(sums),
		average: sumOf((held) => held.average),
		fifo: sumOf((held) => held.fifo),
		uncosted: found.filter(({ average, onHandG }) => average === null && onHandG > 0).length,
		...{ found: found.length, all: came.length, page, pageSize: LOTS_ON_A_PAGE },
		openFrom: firstOpenMonth(periods.map(({ month }) => month))
	};
}

function matches(lot: Lot, q: string): boolean {
	const words = q.toLowerCase().split(/\s+/).filter(Boolean);
	const text = [lot.code, lot.name, lot.kind, lot.producer, lot.supplier, countryName(lot.country)]
		.join(' ')
		.toLowerCase();
	return words.every((word) => text.includes(word));
}

/** A lot with what its stock is worth; null where it has no cost. */
interface HeldLot {
	readonly lot: Lot;
	readonly onHandG: number;
	readonly average: Money | null;
	readonly fifo: Money | null;
	readonly missing: string | null;
}

function heldLot(lot: Lot, onHandG: number, costs: LotCosts, currency: string): HeldLot {
	const value = costs.months.at(-1)?.value;
	const worth = (minor: number | undefined) =>
		costs.isCosted ? money(minor ?? 0, currency) : null;
	return {
		...{ lot, onHandG },
		average: worth(value?.averageMinor),
		fifo: worth(value?.fifoMinor),
		missing: costs.isCosted ? null : (costs.problem?.message ?? 'It has no price terms.')
	};
}

function stockLot(held: HeldLot, balance: LotBalance, bagRows: readonly BagRow[]): StockLot {
	const { lot, average, fifo, missing } = held;
	const bags = bagStocks(bagRows);
	return {
		...{ code: lot.code, name: lot.name, kind: lot.kind, href: `${lotHref(lot.code)}#stock` },
		...{ balance, unexplainedG: unexplainedG(balance), average, fifo, missing },
		bagsWhole: bags.filter(({ onHandG, receivedG }) => onHandG > 0 && onHandG >= receivedG).length,
		bagsOpen: bags.filter(({ onHandG, receivedG }) => onHandG > 0 && onHandG < receivedG).length
	};
}

function sorted(rows: HeldLot[], sort: StockQuery['sort']): HeldLot[] {
	if (!sort) return rows;
	const by = (row: HeldLot): number | string => {
		if (sort.key === 'on-hand') return row.onHandG;
		if (sort.key === 'average') return row.average?.minor ?? 0;
		return sort.key === 'fifo' ? (row.fifo?.minor ?? 0) : row.lot.code;
	};
	const sign = sort.descending ? -1 : 1;
	return rows.toSorted((a, b) => (by(a) < by(b) ? -sign : by(a) > by(b) ? sign : 0));
}

/** A month that is closed or can be, with the stock at its end. */
export interface PeriodLine {
	readonly month: string;
	readonly closed: { readonly at: Moment; readonly by: string; readonly note: string } | null;
	/** Whether a later month's closing closed it. */
	readonly closedWith: string | null;
	readonly onHandG: number;
	readonly average: Money;
	readonly fifo: Money;
	/** Charged in the month for what had been used before: later invoices and terms. */
	readonly corrected: Money;
}

export interface PeriodsView {
	readonly currency: string;
	/** Newest first, those that are over. */
	readonly months: readonly PeriodLine[];
	/** Months that can be closed now, the oldest first. */
	readonly closable: readonly string[];
	readonly openFrom: string | null;
}

/** How many months of the past are listed. */
const MONTHS_SHOWN = 24;

/** Closed periods and what could be closed, with the stock at each month's end. */
export async function loadPeriodsView(db: Reader, now: InstantMs): Promise<PeriodsView> {
	const site = await requireSite(db);
	const [costs, periods] = await Promise.all([loadLotCosts(db), loadPeriods(db)]);
	const closed = periods.map(({ month }) => month);
	const lots = [...costs.values()].map((each) => each.months).filter((own) => own.length > 0);
	const running = monthOf(dayOf(now, site.timeZone));
	const months: string[] = [];
	const from = lots.reduce((first, [own]) => (own!.month < first ? own!.month : first), running);
	for (let month = from; month < running; month = nextMonth(month)) months.push(month);
	const lines = months.slice(-MONTHS_SHOWN).map((month) => {
		const row = periods.find((each) => each.month === month);
		const later = closed.find((each) => each > month);
		return {
			month,
			closed: row ? { at: momentOf(row.at, site.timeZone), by: row.by, note: row.note } : null,
			closedWith: row ? null : (later ?? null),
			...stockAt(lots, site.currency, month)
		};
	});
	return {
		currency: site.currency,
		months: lines.toReversed(),
		closable: months.filter((month) => checkClose(month, closed, now, site.timeZone).ok),
		openFrom: firstOpenMonth(closed)
	};
}

/** @param lots each lot's months in which something happened to it, the oldest first */
function stockAt(
	lots: readonly (readonly LotMonth[])[],
	currency: string,
	month: string
): Pick<PeriodLine, 'onHandG' | 'average' | 'fifo' | 'corrected'> {
	let [onHandG, average, fifo, corrected] = [0, 0, 0, 0];
	for (const months of lots) {
		const last = months.findLast((each) => each.month <= month);
		if (!last) continue;
		onHandG += last.onHandG;
		average += last.value.averageMinor;
		fifo += last.value.fifoMinor;
		if (last.month === month) corrected += last.correctedMinor;
	}
	const of = (minor: number) => money(minor, currency);
	return { onHandG, average: of(average), fifo: of(fifo), corrected: of(corrected) };
}

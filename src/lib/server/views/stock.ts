import { bagStocks } from '#lib/domain/ledger/bags.ts';
import { lotBalance, unexplainedG, type LotBalance } from '#lib/domain/ledger/ledger.ts';
import { checkClose, endOfMonth, firstOpenMonth, nextMonth } from '#lib/domain/ledger/period.ts';
import { money, type Money } from '#lib/domain/quantity/money.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { dayOf, monthOf } from '#lib/domain/quantity/week.ts';
import type { LotValue } from '#lib/domain/cost/greenValue.ts';
import type { Reader } from '../db/client.ts';
import { loadBagRows, loadPeriods } from '../store/ledger.ts';
import { loadLots, loadMovements, type Lot, type MovementRow } from '../store/lots.ts';
import { requireSite } from '../store/site.ts';
import { loadLotValues } from './greenValue.ts';
import { momentOf, type Moment } from './moment.ts';
import { countryName, lotHref } from './places.ts';

/** The stock of all lots, by weight, bag and value. */

export const STOCK_SORTS = ['lot', 'on-hand', 'average', 'fifo'] as const;

export interface StockQuery {
	readonly q: string;
	/** `held`: lots with stock; `all`: every lot that ever came. */
	readonly show: string;
	readonly sort: { readonly key: string; readonly descending: boolean } | null;
}

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
	/** Months up to this one are closed; null when none is. */
	readonly openFrom: string | null;
}

export async function loadStock(db: Reader, query: StockQuery): Promise<StockView> {
	const site = await requireSite(db);
	const [lots, movements, bagRows, values, periods] = await Promise.all([
		loadLots(db),
		loadMovements(db),
		loadBagRows(db),
		loadLotValues(db, site),
		loadPeriods(db)
	]);
	const movementsOf = Map.groupBy(movements, (row) => row.lotId);
	const bagsOf = Map.groupBy(bagRows, (row) => row.lotId);
	const came = lots.filter((lot) => movementsOf.has(lot.id));
	const rows = came
		.filter((lot) => matches(lot, query.q))
		.map((lot) =>
			stockLot(lot, movementsOf.get(lot.id) ?? [], bagStocks(bagsOf.get(lot.id) ?? []), values)
		)
		.filter((row) => query.show === 'all' || row.balance.onHandG > 0);
	const sumOf = (pick: (row: StockLot) => Money | null) =>
		money(
			rows.reduce((sum, row) => sum + (pick(row)?.minor ?? 0), 0),
			site.currency
		);
	const shown = new Set(rows.map((row) => row.code));
	const shownIds = came.filter((lot) => shown.has(lot.code)).map((lot) => lot.id);
	return {
		currency: site.currency,
		lots: sorted(rows, query.sort),
		total: lotBalance(shownIds.flatMap((id) => movementsOf.get(id) ?? [])),
		average: sumOf((row) => row.average),
		fifo: sumOf((row) => row.fifo),
		uncosted: rows.filter((row) => row.average === null && row.balance.onHandG > 0).length,
		found: rows.length,
		all: came.length,
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

function stockLot(
	lot: Lot,
	movements: readonly MovementRow[],
	bags: ReturnType<typeof bagStocks>,
	values: ReadonlyMap<number, LotValue>
): StockLot {
	const value = values.get(lot.id)!;
	const last = value.steps.at(-1);
	const balance = lotBalance(movements);
	const worth = (minor: number | undefined) =>
		last?.isCosted ? money(minor ?? 0, value.currency) : null;
	return {
		...{ code: lot.code, name: lot.name, kind: lot.kind, href: `${lotHref(lot.code)}#stock` },
		...{ balance, unexplainedG: unexplainedG(balance) },
		bagsWhole: bags.filter(({ onHandG, receivedG }) => onHandG > 0 && onHandG >= receivedG).length,
		bagsOpen: bags.filter(({ onHandG, receivedG }) => onHandG > 0 && onHandG < receivedG).length,
		average: worth(last?.value.averageMinor),
		fifo: worth(last?.value.fifoMinor),
		missing: last?.isCosted ? null : (value.problem?.message ?? 'It has no price terms.')
	};
}

function sorted(rows: StockLot[], sort: StockQuery['sort']): StockLot[] {
	if (!sort) return rows;
	const by = (row: StockLot): number | string => {
		if (sort.key === 'on-hand') return row.balance.onHandG;
		if (sort.key === 'average') return row.average?.minor ?? 0;
		return sort.key === 'fifo' ? (row.fifo?.minor ?? 0) : row.code;
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
	const [values, periods] = await Promise.all([loadLotValues(db, site), loadPeriods(db)]);
	const closed = periods.map(({ month }) => month);
	const first = [...values.values()].flatMap(({ steps }) => steps[0]?.event.at ?? []);
	const running = monthOf(dayOf(now, site.timeZone));
	const months: string[] = [];
	const from = first.length > 0 ? monthOf(dayOf(Math.min(...first), site.timeZone)) : running;
	for (let month = from; month < running; month = nextMonth(month)) months.push(month);
	const lines = months.slice(-MONTHS_SHOWN).map((month) => {
		const row = periods.find((each) => each.month === month);
		const later = closed.find((each) => each > month);
		return {
			month,
			closed: row ? { at: momentOf(row.at, site.timeZone), by: row.by, note: row.note } : null,
			closedWith: row ? null : (later ?? null),
			...stockAt(values, site.currency, month, site.timeZone)
		};
	});
	return {
		currency: site.currency,
		months: lines.toReversed(),
		closable: months.filter((month) => checkClose(month, closed, now, site.timeZone).ok),
		openFrom: firstOpenMonth(closed)
	};
}

function stockAt(
	values: ReadonlyMap<number, LotValue>,
	currency: string,
	month: string,
	zone: string
): Pick<PeriodLine, 'onHandG' | 'average' | 'fifo' | 'corrected'> {
	const end = endOfMonth(month, zone);
	let [onHandG, average, fifo, corrected] = [0, 0, 0, 0];
	for (const { steps } of values.values()) {
		const last = steps.findLast((step) => step.event.at < end);
		onHandG += last?.onHandG ?? 0;
		average += last?.value.averageMinor ?? 0;
		fifo += last?.value.fifoMinor ?? 0;
		for (const { event, sharing } of steps)
			if (sharing && event.at < end && monthOf(dayOf(event.at, zone)) === month)
				corrected += sharing.usedMinor;
	}
	const of = (minor: number) => money(minor, currency);
	return { onHandG, average: of(average), fifo: of(fifo), corrected: of(corrected) };
}

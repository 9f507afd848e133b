import { asc, eq, max } from 'drizzle-orm';
import type { DayRate } from '#lib/domain/cost/fx.ts';
import type { InvoiceKind } from '#lib/domain/cost/invoice.ts';
import type { BagEntry } from '#lib/domain/ledger/bags.ts';
import type { Month } from '#lib/domain/ledger/period.ts';
import type { Reader } from '../db/client.ts';
import { bag, bagMovement, exchangeRate, invoice, movement, periodClose } from '../db/schema.ts';
import { ofLot, type LotIds } from './lots.ts';

export type RateRow = Omit<typeof exchangeRate.$inferSelect, 'fromCurrency' | 'toCurrency'> &
	DayRate;
export type InvoiceRow = typeof invoice.$inferSelect & { readonly kind: InvoiceKind };
export type PeriodRow = typeof periodClose.$inferSelect;

/** A part of a movement by bag, with its moment and movement. */
export interface BagRow extends BagEntry {
	readonly lotId: number;
	readonly movementId: number;
	readonly kind: string;
	/** Whether a person named the bag. */
	readonly named: boolean;
	/** Whether the bag was weighed by itself. */
	readonly weighed: boolean;
}

/** Every exchange rate, the oldest entry first. */
export async function loadRates(db: Reader): Promise<RateRow[]> {
	const rows = await db.select().from(exchangeRate).orderBy(asc(exchangeRate.id));
	return rows.map(({ fromCurrency, toCurrency, ...row }) => ({
		...row,
		from: fromCurrency,
		to: toCurrency
	}));
}

/** The newest entry of the table of exchange rates; 0 while it is empty. */
export async function newestRate(db: Reader): Promise<number> {
	return (await db.select({ id: max(exchangeRate.id) }).from(exchangeRate))[0]!.id ?? 0;
}

/** Invoices in the order they count; of those lots whose ids are given. */
export async function loadInvoices(db: Reader, lotId?: LotIds): Promise<InvoiceRow[]> {
	const rows = await db
		.select()
		.from(invoice)
		.where(ofLot(invoice.lotId, lotId))
		.orderBy(asc(invoice.postedAt), asc(invoice.id));
	return rows as InvoiceRow[];
}

/** Closings of months, the oldest month first. */
export async function loadPeriods(db: Reader): Promise<PeriodRow[]> {
	return db.select().from(periodClose).orderBy(asc(periodClose.month));
}

/** Months that were closed by name; each closes those before it. */
export async function loadClosedMonths(db: Reader): Promise<Month[]> {
	return (await loadPeriods(db)).map(({ month }) => month);
}

/** The ledger by bag, oldest first; of those lots whose ids are given. */
export async function loadBagRows(db: Reader, lotId?: LotIds): Promise<BagRow[]> {
	return db
		.select({
			lotId: bag.lotId,
			bag: bag.number,
			massG: bagMovement.massG,
			at: movement.at,
			movementId: movement.id,
			kind: movement.kind,
			named: bagMovement.named,
			weighed: bag.weighed
		})
		.from(bagMovement)
		.innerJoin(bag, eq(bag.id, bagMovement.bagId))
		.innerJoin(movement, eq(movement.id, bagMovement.movementId))
		.where(ofLot(bag.lotId, lotId))
		.orderBy(asc(movement.at), asc(movement.id), asc(bag.number));
}

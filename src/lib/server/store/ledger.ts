import { asc, eq } from 'drizzle-orm';
import type { DayRate } from '#lib/domain/cost/fx.ts';
import type { InvoiceKind } from '#lib/domain/cost/invoice.ts';
import type { BagEntry } from '#lib/domain/ledger/bags.ts';
import type { Month } from '#lib/domain/ledger/period.ts';
import type { Reader } from '../db/client.ts';
import { bag, bagMovement, exchangeRate, invoice, movement, periodClose } from '../db/schema.ts';

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

/** Invoices in the order they count; of one lot where an id is given. */
export async function loadInvoices(db: Reader, lotId?: number): Promise<InvoiceRow[]> {
	const rows = await db
		.select()
		.from(invoice)
		.where(lotId === undefined ? undefined : eq(invoice.lotId, lotId))
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

/** The ledger by bag, oldest first; of one lot where an id is given. */
export async function loadBagRows(db: Reader, lotId?: number): Promise<BagRow[]> {
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
		.where(lotId === undefined ? undefined : eq(bag.lotId, lotId))
		.orderBy(asc(movement.at), asc(movement.id), asc(bag.number));
}

import { and, eq } from 'drizzle-orm';
import { rateOfDay, rateTable } from '#lib/domain/cost/fx.ts';
import type { InvoiceKind } from '#lib/domain/cost/invoice.ts';
import { buyerPays, CHARGES, type Incoterm } from '#lib/domain/cost/terms.ts';
import { postingInstant } from '#lib/domain/ledger/period.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { Day } from '#lib/domain/quantity/time.ts';
import { instantAt } from '#lib/domain/quantity/week.ts';
import { invoice } from '../db/schema.ts';
import { loadClosedMonths, loadRates } from '../store/ledger.ts';
import { loadPriceTerms } from '../store/lots.ts';
import { requireSite } from '../store/site.ts';
import { note, type Deed } from './act.ts';

export interface InvoiceInput {
	readonly lotId: number;
	readonly day: Day;
	readonly kind: InvoiceKind;
	readonly number: string;
	/** Minor units of `currency`, above zero. */
	readonly amountMinor: number;
	readonly currency: string;
	/** As stated; null where the day's rate counts. */
	readonly fxE6: number | null;
	readonly note: string;
}

/**
 * Records an invoice or a credit note for a lot. It counts from its day, or from the first moment of the
 * next open period; problems are at the headings of the table of invoices.
 */
export async function recordInvoice(deed: Deed, input: InvoiceInput): Promise<Outcome<null>> {
	const { tx } = deed;
	const [site, closed, terms, rates, twins] = await Promise.all([
		requireSite(tx),
		loadClosedMonths(tx),
		loadPriceTerms(tx, input.lotId),
		loadRates(tx),
		tx
			.select({ id: invoice.id })
			.from(invoice)
			.where(
				and(
					eq(invoice.lotId, input.lotId),
					eq(invoice.kind, input.kind),
					eq(invoice.number, input.number)
				)
			)
	]);
	const rate =
		input.fxE6 === null
			? rateOfDay(rateTable(rates), input.currency, site.currency, input.day, 'fx_rate')
			: good(null);
	const problems: Problem[] = [
		...amountProblems(input, site.currency),
		...coveredProblems(input.kind, terms[0]?.incoterm as Incoterm | undefined),
		...(twins.length > 0
			? [{ path: 'number', message: `${input.kind} invoice ${input.number} is recorded already` }]
			: []),
		...(rate.ok ? [] : rate.problems)
	];
	if (problems.length > 0) return bad(...problems);
	const at = instantAt(input.day, 0, site.timeZone);
	await tx.insert(invoice).values({
		...input,
		postedAt: postingInstant(at, closed, site.timeZone),
		recordedAt: deed.now,
		by: deed.by
	});
	const { lotId, ...detail } = input;
	await note(deed, 'record invoice', lotId, detail);
	return good(null);
}

function amountProblems(
	{ amountMinor, currency, fxE6 }: InvoiceInput,
	siteCurrency: string
): Problem[] {
	if (amountMinor <= 0)
		return [{ path: 'amount', message: 'expected an amount above zero, of a credit note too' }];
	if (fxE6 !== null && currency === siteCurrency && fxE6 !== 1_000_000)
		return [{ path: 'fx_rate', message: `it is in ${siteCurrency} already, expected no rate` }];
	return [];
}

function coveredProblems(kind: InvoiceKind, incoterm: Incoterm | undefined): Problem[] {
	const charge = CHARGES.find((each) => each === kind);
	if (!charge || !incoterm || buyerPays(charge, incoterm)) return [];
	const message = `${kind} is in the price under ${incoterm}; what has to be paid all the same is 'other'`;
	return [{ path: 'kind', message }];
}

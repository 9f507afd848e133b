import { and, desc, eq } from 'drizzle-orm';
import { isClosed } from '#lib/domain/ledger/period.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { DayRate } from '#lib/domain/cost/fx.ts';
import { exchangeRate } from '../db/schema.ts';
import { loadClosedMonths } from '../store/ledger.ts';
import { note, type Deed } from './act.ts';
import { changes } from './changes.ts';

export interface ExchangeRateInput extends DayRate {
	/** Where it was read: a bank, a newspaper. */
	readonly source: string;
}

/**
 * Enters the exchange rate of a day. The same day and pair again corrects it; a day of a closed period
 * takes no rate any more, since it would change what was closed.
 */
export async function saveExchangeRate(
	deed: Deed,
	input: ExchangeRateInput
): Promise<Outcome<null>> {
	const { day, from, to, rateE6, source } = input;
	if (from === to)
		return bad({ path: 'to', message: `found ${to} twice, expected two currencies` });
	if (isClosed(day, await loadClosedMonths(deed.tx)))
		return bad({
			path: 'day',
			message: `${day} lies in a closed period; state the rate with the price terms or the invoice instead`
		});
	const pair = { day, fromCurrency: from, toCurrency: to };
	const existing = await newestOf(deed, pair);
	await deed.tx.insert(exchangeRate).values({
		...{ ...pair, rateE6, source },
		...{ recordedAt: deed.now, by: deed.by }
	});
	const change = changes(existing, { rateE6, source });
	await note(deed, 'save exchange rate', null, { day, from, to, ...change });
	return good(null);
}

/** The rate of a day that a new one corrects; null when there is none yet. */
async function newestOf(
	{ tx }: Deed,
	pair: { readonly day: string; readonly fromCurrency: string; readonly toCurrency: string }
) {
	const rows = await tx
		.select()
		.from(exchangeRate)
		.where(
			and(
				eq(exchangeRate.day, pair.day),
				eq(exchangeRate.fromCurrency, pair.fromCurrency),
				eq(exchangeRate.toCurrency, pair.toCurrency)
			)
		)
		.orderBy(desc(exchangeRate.id))
		.limit(1);
	return rows[0] ?? null;
}

import { isClosed } from '#lib/domain/ledger/period.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { DayRate } from '#lib/domain/cost/fx.ts';
import { exchangeRate } from '../db/schema.ts';
import { loadClosedMonths } from '../store/ledger.ts';
import { note, type Deed } from './act.ts';

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
	await deed.tx.insert(exchangeRate).values({
		...{ day, rateE6, source, fromCurrency: from, toCurrency: to },
		...{ recordedAt: deed.now, by: deed.by }
	});
	await note(deed, 'save exchange rate', null, { ...input });
	return good(null);
}

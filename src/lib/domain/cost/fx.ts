import {
	formatScaled,
	formatTrimmed,
	ratio,
	roundRatio,
	type Ratio,
	times
} from '../quantity/decimal.ts';
import type { Currency } from '../quantity/money.ts';
import { bad, good, type Outcome } from '../quantity/problem.ts';
import type { Day } from '../quantity/time.ts';

/**
 * Exchange rates by day and pair.
 *
 * 1. A rate is for its own day: none is carried over to another.
 * 2. The pair's own rate counts first, then the opposite pair's turned round (exactly 1 / rate), then
 *    a way by one third currency whose two rates of that day are known, each as it stands or turned
 *    round; of several ways the one by the alphabetically first currency.
 * 3. A derived rate is exact: it is rounded only where it is shown.
 * 4. Of two entries for one day and pair the later one counts: it corrects the other.
 */

/** One unit of `from` is worth `rateE6` millionths of a unit of `to`. */
export interface DayRate {
	readonly day: Day;
	readonly from: Currency;
	readonly to: Currency;
	readonly rateE6: number;
}

/** A rate as it is used: exact, with where it comes from. */
export interface UsedRate {
	/** Units of the wanted currency for one of the other. */
	readonly rate: Ratio;
	/** `GBP 0.76 for USD 1 on 2026-11-02`. */
	readonly words: string;
}

/** A table of rates, in the order they were entered, ready to be asked. */
export type RateTable = ReadonlyMap<string, number>;

function key(day: Day, from: Currency, to: Currency): string {
	return `${day} ${from} ${to}`;
}

/** @param rates oldest entry first (rule 4) */
export function rateTable(rates: readonly DayRate[]): RateTable {
	return new Map(rates.map((rate) => [key(rate.day, rate.from, rate.to), rate.rateE6]));
}

/** The rate that terms or an invoice state themselves: it wins over the table. */
export function statedRate(from: Currency, to: Currency, rateE6: number, day: Day): UsedRate {
	const rate = ratio(rateE6, 1_000_000);
	return { rate, words: `${rateWords(rate, from, to, day)}, as stated` };
}

/**
 * The rate of a day by rules 1 to 3; 1 between a currency and itself.
 * @returns a problem at `path` that names day and pair when the table doesn't tell it
 */
export function rateOfDay(
	table: RateTable,
	from: Currency,
	to: Currency,
	day: Day,
	path = 'fxE6'
): Outcome<UsedRate> {
	if (from === to) return good({ rate: ratio(1), words: '' });
	const direct = legOf(table, from, to, day);
	if (direct)
		return good({
			rate: direct.rate,
			words: `${rateWords(direct.rate, from, to, day)}, ${direct.turned ? `turned round from ${to} to ${from}` : 'by the table of rates'}`
		});
	for (const by of currenciesOf(table, day)) {
		const first = legOf(table, from, by, day);
		const second = legOf(table, by, to, day);
		if (!first || !second) continue;
		const rate = times(first.rate, second.rate);
		return good({ rate, words: `${rateWords(rate, from, to, day)}, by way of ${by}` });
	}
	const message = `There is no exchange rate from ${from} to ${to} on ${day}: enter it in Setup, Rates, or state it with the price.`;
	return bad({ path, message });
}

function legOf(table: RateTable, from: Currency, to: Currency, day: Day) {
	const own = table.get(key(day, from, to));
	if (own !== undefined) return { rate: ratio(own, 1_000_000), turned: false };
	const opposite = table.get(key(day, to, from));
	return opposite === undefined ? null : { rate: ratio(1_000_000, opposite), turned: true };
}

function currenciesOf(table: RateTable, day: Day): Currency[] {
	const pairs = [...table.keys()].filter((each) => each.startsWith(`${day} `));
	return [...new Set(pairs.flatMap((pair) => pair.split(' ').slice(1)))].sort();
}

function rateWords(rate: Ratio, from: Currency, to: Currency, day: Day): string {
	const rateE6 = roundRatio(times(rate, ratio(1_000_000)));
	// A rate of less than a thousandth keeps four figures: Colombian pesos are worth little each.
	const shown =
		rateE6 >= 1000
			? formatTrimmed(rateE6, 6, 2)
			: formatScaled(roundRatio(times(rate, ratio(1_000_000_000n))), 9);
	return `${to} ${shown} for ${from} 1 on ${day}`;
}

import { describe, expect, it } from 'vitest';
import { type DayRate, rateOfDay, rateTable, statedRate } from './fx.ts';

const DAY = '2026-11-02';
const entry = (from: string, to: string, rateE6: number, day = DAY): DayRate => ({
	...{ from, to, rateE6, day }
});
const asked = (rates: readonly DayRate[], from: string, to: string, day = DAY) =>
	rateOfDay(rateTable(rates), from, to, day);
function rateOf(rates: readonly DayRate[], from: string, to: string): [bigint, bigint, string] {
	const found = asked(rates, from, to);
	if (!found.ok) throw new Error(found.problems[0]?.message);
	return [found.value.rate.num, found.value.rate.den, found.value.words];
}

describe('a rate of a day', () => {
	it('is the pair’s own, before any other (rule 2)', () => {
		const rates = [entry('USD', 'GBP', 760_000), entry('GBP', 'USD', 1_300_000)];
		expect(rateOf(rates, 'USD', 'GBP')).toEqual([
			760_000n,
			1_000_000n,
			`GBP 0.76 for USD 1 on ${DAY}, by the table of rates`
		]);
	});

	it('is else the opposite pair’s turned round, exactly (rules 2, 3)', () => {
		expect(rateOf([entry('GBP', 'USD', 1_300_000)], 'USD', 'GBP')).toEqual([
			1_000_000n,
			1_300_000n,
			`GBP 0.769231 for USD 1 on ${DAY}, turned round from GBP to USD`
		]);
	});

	it('is else by way of one other currency, the alphabetically first (rule 2)', () => {
		const rates = [
			...[entry('USD', 'SEK', 10_000_000), entry('GBP', 'SEK', 13_000_000)],
			...[entry('EUR', 'USD', 1_100_000), entry('EUR', 'GBP', 850_000)]
		];
		expect(rateOf(rates, 'USD', 'GBP')[2]).toBe(`GBP 0.772727 for USD 1 on ${DAY}, by way of EUR`);
	});

	it('shows a small rate with figures that say something', () => {
		expect(rateOf([entry('GBP', 'COP', 5_200_000_000)], 'COP', 'GBP')[2]).toContain(
			'GBP 0.000192308 for COP 1'
		);
	});

	it('of two entries for a day is the later (rule 4)', () => {
		const rates = [entry('USD', 'GBP', 760_000), entry('USD', 'GBP', 761_000)];
		expect(rateOf(rates, 'USD', 'GBP')[0]).toBe(761_000n);
	});

	it('is not carried over from another day: the problem names day and pair (rule 1)', () => {
		const found = asked([entry('USD', 'GBP', 760_000)], 'USD', 'GBP', '2026-11-03');
		expect(found).toEqual({
			ok: false,
			problems: [
				{
					path: 'fxE6',
					message:
						'There is no exchange rate from USD to GBP on 2026-11-03: enter it in Setup, Rates, or state it with the price.'
				}
			]
		});
	});

	it('is 1 between a currency and itself, and as stated where it is stated', () => {
		expect(asked([], 'GBP', 'GBP')).toMatchObject({ ok: true, value: { words: '' } });
		expect(statedRate('USD', 'GBP', 790_000, DAY).words).toBe(
			`GBP 0.79 for USD 1 on ${DAY}, as stated`
		);
	});
});

import type { Saved, TestTrend, TrendVerdict } from '#lib/domain/cost/trend.ts';
import type { Money } from '#lib/domain/quantity/money.ts';
import { dayText } from '#lib/ui/format/day.ts';
import { amount } from '#lib/ui/format/money.ts';
import { fixed, MISSING, percent, signed } from '#lib/ui/format/number.ts';

/** The words of a comparison. The first group is looked at, the second is what it is held against. */

/** A comparison with how many lots each group has, in place of the lots. */
type Counted = Omit<TestTrend, 'asked' | 'reference'> &
	Readonly<
		Record<'asked' | 'reference', Omit<TestTrend['asked'], 'lots'> & { readonly count: number }>
	>;

/** `since 1 May 2026` and `before 1 May 2026`, `washed` and `all others`. */
export function groupNames(cut: string, key: string, on: string): [string, string] {
	if (cut === 'date') return [`since ${dayText(on)}`, `before ${dayText(on)}`];
	if (cut === 'humidity') return ['read with humidity', 'without such a reading'];
	return [key, 'all others'];
}

/** What the data say, in one sentence. */
export function trendSentence(trend: Counted, [asked, other]: readonly [string, string]): string {
	const { ratio, verdict } = trend;
	if (ratio === null) {
		const missing = trend.asked.count === 0 ? asked : other;
		return `Nothing to compare: no released lot is ${missing}.`;
	}
	const rates = `${perLot(trend.asked.perLot?.rate)} tests a lot ${asked}, ${perLot(trend.reference.perLot?.rate)} ${other}`;
	const interval = `the ${levelText(trend.level)} interval of their ratio, ${bounds(ratio)},`;
	if (verdict === 'fewer' || verdict === 'more')
		return `${verdict === 'fewer' ? 'Fewer' : 'More'} tests: ${rates}; ${interval} is wholly ${verdict === 'fewer' ? 'below' : 'above'} 1.`;
	return `Can't tell: ${rates}, but ${interval} holds 1.`;
}

/** Short, for a table. */
export function verdictWords(verdict: TrendVerdict): string {
	return verdict === 'fewer' || verdict === 'more' ? `${verdict} tests` : verdict;
}

/** Variance over mean of the counts of both groups, `0.99 and 1.03`. */
export function spreadText({ asked, reference }: Counted): string {
	return `${fixed(asked.dispersion, 2)} and ${fixed(reference.dispersion, 2)}`;
}

/** `95 %`, `99.2 %`. */
export function levelText(level: number): string {
	return percent(level, Math.abs(level * 100 - Math.round(level * 100)) < 1e-9 ? 0 : 1);
}

/** `0.63 to 1.47`; without an upper bound `0.63 or more`. */
export function bounds({ low, high }: { readonly low: number; readonly high: number }): string {
	return Number.isFinite(high)
		? `${fixed(low, 2)} to ${fixed(high, 2)}`
		: `${fixed(low, 2)} or more`;
}

/** `+1.2`, and its interval `−3.0 to +5.4`, in kilograms. */
export function savedKg(saved: Saved<number> | null): [string, string] {
	if (!saved) return [MISSING, ''];
	const [each, low, high] = [saved.each, saved.low, saved.high].map((g) => signed(g / 1000, 1));
	return [each!, `${low} to ${high}`];
}

/** The same in money, without the currency. */
export function savedMoney(saved: Saved<Money> | null): [string, string] {
	if (!saved) return [MISSING, ''];
	const [each, low, high] = [saved.each, saved.low, saved.high].map(
		(m) => (m.minor > 0 ? '+' : '') + amount(m)
	);
	return [each!, `${low} to ${high}`];
}

/** `.02` as `0.020`, and what is smaller than that shows as such. */
export function chance(p: number): string {
	return p < 0.001 ? 'below 0.001' : fixed(p, 3);
}

function perLot(rate: number | undefined): string {
	return fixed(rate, 2);
}

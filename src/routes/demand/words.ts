import type { Expected } from '#lib/domain/demand/forecast.ts';
import { kg, MISSING, percent } from '#lib/ui/format/number.ts';

/** An 80 % interval in kilograms, `23.1 to 29.9`. */
export function intervalKg(expected: Expected | null | undefined): string {
	if (!expected?.interval) return MISSING;
	return `${kg(expected.interval.low)} to ${kg(expected.interval.high)}`;
}

/** An error against the naive one in words: `12.3 % below`. */
export function againstNaiveWords(change: number | null): string {
	if (change === null) return MISSING;
	if (Math.abs(change) < 0.0005) return 'the same';
	return `${percent(Math.abs(change))} ${change < 0 ? 'below' : 'above'}`;
}

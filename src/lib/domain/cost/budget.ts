import type { Day } from '../quantity/time.ts';
import { addDays, isDay } from '../quantity/week.ts';

/** A span of the calendar that costs are looked at by: a month `2026-11` or a year `2026`. */
export type Period = string;

/** Whether a text is a month or a year. */
export function isPeriod(text: string): boolean {
	return isDay(firstDay(text));
}

/** The first and last day of a period. @throws RangeError when it is none */
export function daysOfPeriod(period: Period): { readonly from: Day; readonly to: Day } {
	const from = firstDay(period);
	if (!isDay(from)) throw new RangeError(`${period} is neither a month nor a year`);
	const year = Number(period.slice(0, 4));
	const month = period.length === 4 ? 12 : Number(period.slice(5));
	const next = month === 12 ? `${year + 1}-01-01` : `${period.slice(0, 4)}-${two(month + 1)}-01`;
	return { from, to: addDays(next, -1) };
}

/** The month and the year of a day, the periods that its money counts in. */
export function periodsOfDay(day: Day): readonly [month: Period, year: Period] {
	return [day.slice(0, 7), day.slice(0, 4)];
}

/**
 * Whether the tests that a lot still needs count in a period: by its release-by day, when they must be done;
 * an overdue lot and one without a day are tested as soon as can be, and count today.
 */
export function isAheadIn(releaseBy: Day | null, today: Day, period: Period): boolean {
	return isInPeriod(releaseBy === null || releaseBy < today ? today : releaseBy, period);
}

/** Whether a day lies in a period. */
export function isInPeriod(day: Day, period: Period): boolean {
	return day.startsWith(`${period}-`);
}

function firstDay(period: string): string {
	if (/^\d{4}$/.test(period)) return `${period}-01-01`;
	return /^\d{4}-\d{2}$/.test(period) ? `${period}-01` : '';
}

function two(n: number): string {
	return String(n).padStart(2, '0');
}

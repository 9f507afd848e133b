import { bad, good, type Outcome } from '../quantity/problem.ts';
import type { Day, InstantMs } from '../quantity/time.ts';
import { addDays, dayOf, instantAt, monthOf } from '../quantity/week.ts';

/**
 * Periods of the books: calendar months of the site.
 *
 * 1. A month that is over can be closed, by name. It closes every month before it.
 * 2. What is closed stays closed.
 * 3. What is recorded for a closed month afterwards counts from the first moment of the next open one;
 *    when it happened is kept beside.
 */

/** A calendar month, `2026-10`. */
export type Month = string;

/** The month after. */
export function nextMonth(month: Month): Month {
	return monthOf(addDays(`${month}-01`, 31));
}

/** The first month that is open, or null when none was ever closed: then every month is. */
export function firstOpenMonth(closed: readonly Month[]): Month | null {
	if (closed.length === 0) return null;
	return nextMonth(closed.reduce((a, b) => (a > b ? a : b)));
}

/** Whether a day lies in a closed month (rule 1). */
export function isClosed(day: Day, closed: readonly Month[]): boolean {
	const open = firstOpenMonth(closed);
	return open !== null && monthOf(day) < open;
}

/** The first instant that can still be written to; 0 when no month is closed. */
export function openSince(closed: readonly Month[], zone: string): InstantMs {
	const open = firstOpenMonth(closed);
	return open === null ? 0 : instantAt(`${open}-01`, 0, zone);
}

/** When something that happened at `at` counts (rule 3). */
export function postingInstant(at: InstantMs, closed: readonly Month[], zone: string): InstantMs {
	return Math.max(at, openSince(closed, zone));
}

/** The first instant after a month: up to it, the month's records count. */
export function endOfMonth(month: Month, zone: string): InstantMs {
	return instantAt(`${nextMonth(month)}-01`, 0, zone);
}

/** Checks that a month can be closed at `now` (rules 1, 2). */
export function checkClose(
	month: string,
	closed: readonly Month[],
	now: InstantMs,
	zone: string
): Outcome<Month> {
	const path = 'month';
	if (!/^\d{4}-(0[1-9]|1[0-2])$/.test(month))
		return bad({ path, message: `found "${month}", expected a month such as 2026-10` });
	if (isClosed(`${month}-01`, closed))
		return bad({ path, message: `${month} is closed already; a closed month is not opened again` });
	const running = monthOf(dayOf(now, zone));
	if (month >= running)
		return bad({ path, message: `${month} is not over yet, expected a month before ${running}` });
	return good(month);
}

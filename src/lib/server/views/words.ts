import type { Day } from '#lib/domain/quantity/time.ts';
import { weekdayOf } from '#lib/domain/quantity/week.ts';
import type { Moment } from './moment.ts';

/** Days in words, for papers and for labels that a page gets ready made. */

const WEEKDAYS = ['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun'];
const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** `25 Nov`. */
export function dayShortWords(day: Day): string {
	return `${Number(day.slice(8))} ${MONTHS[Number(day.slice(5, 7)) - 1]}`;
}

/** `25 Nov 2026`. */
export function dayWords(day: Day): string {
	return `${dayShortWords(day)} ${day.slice(0, 4)}`;
}

/** `Wed 25 Nov`. */
export function weekdayWords(day: Day): string {
	return `${WEEKDAYS[weekdayOf(day) - 1]} ${dayShortWords(day)}`;
}

/** `25 Nov 2026, 14:05`. */
export function momentWords({ day, clock }: Moment): string {
	return `${dayWords(day)}, ${clock}`;
}

/** `Wed 25 Nov 14:05`, for what is near. */
export function momentShortWords({ day, clock }: Moment): string {
	return `${weekdayWords(day)} ${clock}`;
}

import type { Day, IsoWeek } from '#lib/domain/quantity/time.ts';
import { count, MISSING } from './number.ts';

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** By ISO weekday less one. */
export const WEEKDAYS = [
	'Monday',
	'Tuesday',
	'Wednesday',
	'Thursday',
	'Friday',
	'Saturday',
	'Sunday'
] as const;

function parts(day: Day): { year: string; month: string; dayOfMonth: string } | null {
	const match = /^(\d{4})-(\d{2})-(\d{2})$/.exec(day);
	const month = MONTHS[Number(match?.[2]) - 1];
	if (!match || month === undefined) return null;
	return { year: match[1]!, month, dayOfMonth: String(Number(match[3])) };
}

/** `25 Nov 2026`; text that is no ISO day is given back as it is. */
export function dayText(day: Day | null | undefined): string {
	if (!day) return MISSING;
	const p = parts(day);
	return p ? `${p.dayOfMonth} ${p.month} ${p.year}` : day;
}

/** `25 Nov`, for where the year is plain. */
export function dayShort(day: Day | null | undefined): string {
	if (!day) return MISSING;
	const p = parts(day);
	return p ? `${p.dayOfMonth} ${p.month}` : day;
}

/** `Week 48, 2026`. */
export function weekText(week: IsoWeek): string {
	const match = /^(\d{4})-W(\d{2})$/.exec(week);
	return match ? `Week ${Number(match[2])}, ${match[1]}` : week;
}

/** Days from today to a date in words, ahead or behind: `in 5 days`, `due today`, `3 days late`. */
export function dueWords(daysLeft: number | null | undefined): string {
	if (daysLeft === null || daysLeft === undefined) return MISSING;
	if (daysLeft < 0) return `${count(-daysLeft, 'day')} late`;
	if (daysLeft === 0) return 'due today';
	return daysLeft === 1 ? 'due tomorrow' : `in ${count(daysLeft, 'day')}`;
}

/** How long something has lasted, in whole days: `today`, `1 day`, `12 days`. */
export function daysSince(days: number | null | undefined): string {
	if (days === null || days === undefined) return MISSING;
	return days === 0 ? 'today' : count(days, 'day');
}

/** Minutes after midnight as a time of day, `06:30`. */
export function timeOfDay(minutes: number): string {
	const two = (n: number) => String(n).padStart(2, '0');
	return `${two(Math.floor(minutes / 60))}:${two(Math.round(minutes % 60))}`;
}

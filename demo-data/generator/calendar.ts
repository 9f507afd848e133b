import { addDays, addWeeks, weekdayOf, weekOf } from '#lib/domain/quantity/week.ts';
import type { Day, IsoWeek } from '#lib/domain/quantity/time.ts';

/** The Monday that the loader moves to the present week's Monday. Nothing has happened after its eve. */
export const ANCHOR: Day = '2026-11-23';
export const WEEKS_BACK = 78;
export const WEEKS_AHEAD = 8;

/** Local wall-clock time of the site, `2026-11-20 14:05`; sorts as text. */
export type Stamp = string;

/** Monday of the week `index` weeks after the first; week `WEEKS_BACK` is the anchor's. */
export function mondayOfWeek(index: number): Day {
	return addDays(ANCHOR, 7 * (index - WEEKS_BACK));
}

/** Which week of the story a day is in, counted from 0. */
export function weekIndexOf(day: Day): number {
	let index = 0;
	while (mondayOfWeek(index + 1) <= day) index += 1;
	while (mondayOfWeek(index) > day) index -= 1;
	return index;
}

export function isoWeekAt(index: number): IsoWeek {
	return addWeeks(weekOf(ANCHOR), index - WEEKS_BACK);
}

/** `day` itself when it is one of the weekdays 1 to `lastWeekday`, else the last such day before it. */
export function onOrBefore(day: Day, lastWeekday = 5): Day {
	let found = day;
	while (weekdayOf(found) > lastWeekday) found = addDays(found, -1);
	return found;
}

/** `count` Mondays to Fridays after `day`. */
export function workdaysAfter(day: Day, count: number): Day {
	let found = day;
	for (let left = count; left > 0;) {
		found = addDays(found, 1);
		if (weekdayOf(found) <= 5) left -= 1;
	}
	return found;
}

/** Minutes after midnight as `HH:MM`. */
export function clock(minute: number): string {
	const hours = Math.floor(minute / 60);
	return `${String(hours).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`;
}

export function stamp(day: Day, minute: number): Stamp {
	return `${day} ${clock(minute)}`;
}

export function dayOfStamp(at: Stamp): Day {
	return at.slice(0, 10);
}

/** Seconds as `m:ss`. */
export function minutesSeconds(seconds: number): string {
	const whole = Math.round(seconds);
	return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}

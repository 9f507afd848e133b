import { DateTime, IANAZone } from 'luxon';
import { bad, good, type Outcome } from './problem.ts';
import type { Day, InstantMs, IsoWeek } from './time.ts';

/**
 * Calendar arithmetic, the one place that knows time zones. Days and weeks are ISO 8601 text of the
 * site's zone; instants are UTC milliseconds. A day has 23, 24 or 25 hours, so hours are never added to
 * a day by hand: ask `instantAt`.
 */

const MS_PER_DAY = 86_400_000;
const MINUTES_PER_DAY = 1440;

/** The calendar day an instant falls on in a zone. @throws RangeError for an unknown zone */
export function dayOf(instant: InstantMs, zone: string): Day {
	return iso(inZone(instant, zone));
}

/** Wall-clock minutes since midnight, 0 to 1439, of an instant in a zone. */
export function minuteOfDay(instant: InstantMs, zone: string): number {
	const local = inZone(instant, zone);
	return local.hour * 60 + local.minute;
}

/** Wall-clock time of an instant in a zone, `14:05`. */
export function clockOf(instant: InstantMs, zone: string): string {
	return inZone(instant, zone).toFormat('HH:mm');
}

/** The ISO 8601 week a day belongs to. */
export function weekOf(day: Day): IsoWeek {
	const date = utc(day);
	return weekText(date.weekYear, date.weekNumber);
}

/** The calendar month of a day, `2026-11`. */
export function monthOf(day: Day): string {
	utc(day);
	return day.slice(0, 7);
}

/** 1 for Monday to 7 for Sunday. */
export function weekdayOf(day: Day): number {
	return utc(day).weekday;
}

/** Monday to Sunday of a week. */
export function daysOfWeek(week: IsoWeek): Day[] {
	const monday = mondayOf(week);
	return [0, 1, 2, 3, 4, 5, 6].map((n) => iso(monday.plus({ days: n })));
}

/** The first instant of a week's Monday in a zone. */
export function startOfWeek(week: IsoWeek, zone: string): InstantMs {
	return instantAt(iso(mondayOf(week)), 0, zone);
}

/** The week `n` weeks later; earlier when negative. */
export function addWeeks(week: IsoWeek, n: number): IsoWeek {
	return weekOf(iso(mondayOf(week).plus({ weeks: n })));
}

/** Whole weeks from one week to another; negative when `to` is earlier. */
export function weeksBetween(from: IsoWeek, to: IsoWeek): number {
	return Math.round((mondayOf(to).toMillis() - mondayOf(from).toMillis()) / (7 * MS_PER_DAY));
}

/** The day `n` days later; earlier when negative. */
export function addDays(day: Day, n: number): Day {
	return iso(utc(day).plus({ days: n }));
}

/** Whole days from one day to another; negative when `to` is earlier. */
export function daysBetween(from: Day, to: Day): number {
	return Math.round((utc(to).toMillis() - utc(from).toMillis()) / MS_PER_DAY);
}

/**
 * The instant when the clock on the wall shows a time. Minutes from 1440 on belong to the next day, so
 * that a night shift may end at 1800. A time that the clocks jump over in spring is taken as long
 * before the jump (01:30 is 02:30); of a time that comes twice in autumn the first is meant.
 * @param minute wall-clock minutes since midnight, an integer from 0 to 2880
 */
export function instantAt(day: Day, minute: number, zone: string): InstantMs {
	if (!Number.isInteger(minute) || minute < 0 || minute > 2 * MINUTES_PER_DAY) {
		throw new RangeError(`minute of the day must be an integer from 0 to 2880, found ${minute}`);
	}
	const date = utc(day).plus({ days: Math.floor(minute / MINUTES_PER_DAY) });
	const { year, month, day: dayOfMonth } = date;
	const rest = minute % MINUTES_PER_DAY;
	const wall = { year, month, day: dayOfMonth, hour: Math.floor(rest / 60), minute: rest % 60 };
	const local = DateTime.fromObject(wall, { zone: checkedZone(zone) });
	return Math.min(...local.getPossibleOffsets().map((possible) => possible.toMillis()));
}

/** Whether a text is a day such as `2026-11-25` that is on the calendar. */
export function isDay(text: string): boolean {
	return /^\d{4}-\d{2}-\d{2}$/.test(text) && DateTime.fromISO(text, { zone: 'utc' }).isValid;
}

/** Whether a text is a week such as `2026-W48` that is on the calendar. */
export function isWeek(text: string): boolean {
	return /^\d{4}-W\d{2}$/.test(text) && DateTime.fromISO(text, { zone: 'utc' }).isValid;
}

/** Whether a text names a zone of the IANA database, `Europe/London`. */
export function isZone(text: string): boolean {
	return IANAZone.create(text).isValid;
}

/** Checks a day given as text. */
export function parseDay(text: string, path = 'day'): Outcome<Day> {
	const found = text.trim();
	if (isDay(found)) return good(found);
	return bad({
		path,
		message: `found "${text}", expected a day on the calendar such as 2026-11-25`
	});
}

/** Checks a week given as text. */
export function parseWeek(text: string, path = 'week'): Outcome<IsoWeek> {
	const found = text.trim();
	if (isWeek(found)) return good(found);
	return bad({ path, message: `found "${text}", expected an ISO 8601 week such as 2026-W48` });
}

function inZone(instant: InstantMs, zone: string): DateTime {
	const local = DateTime.fromMillis(instant, { zone: checkedZone(zone) });
	if (!local.isValid) throw new RangeError(`${instant} is not an instant`);
	return local;
}

function utc(day: Day): DateTime {
	if (!isDay(day)) throw new RangeError(`"${day}" is not a day such as 2026-11-25`);
	return DateTime.fromISO(day, { zone: 'utc' });
}

function mondayOf(week: IsoWeek): DateTime {
	if (!isWeek(week)) throw new RangeError(`"${week}" is not a week such as 2026-W48`);
	return DateTime.fromISO(`${week}-1`, { zone: 'utc' });
}

/** `IANAZone.create` keeps what it made; asking the platform whether a zone exists each time is slow. */
function checkedZone(name: string): IANAZone {
	const zone = IANAZone.create(name);
	if (!zone.isValid) throw new RangeError(`"${name}" is not a time zone`);
	return zone;
}

function iso(date: DateTime): Day {
	return date.toFormat('yyyy-MM-dd');
}

function weekText(year: number, number: number): IsoWeek {
	return `${String(year).padStart(4, '0')}-W${String(number).padStart(2, '0')}`;
}

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
const MS_PER_MINUTE = 60_000;

/** The calendar day an instant falls on in a zone. @throws RangeError for an unknown zone */
export function dayOf(instant: InstantMs, zone: string): Day {
	return dayText(Math.floor((instant + offsetMs(instant, zone)) / MS_PER_DAY));
}

/** Wall-clock minutes since midnight, 0 to 1439, of an instant in a zone. */
export function minuteOfDay(instant: InstantMs, zone: string): number {
	const local = instant + offsetMs(instant, zone);
	return Math.floor(modulo(local, MS_PER_DAY) / MS_PER_MINUTE);
}

/** Wall-clock time of an instant in a zone, `14:05`. */
export function clockOf(instant: InstantMs, zone: string): string {
	const minute = minuteOfDay(instant, zone);
	return `${two(Math.floor(minute / 60))}:${two(minute % 60)}`;
}

/** The ISO 8601 week a day belongs to. */
export function weekOf(day: Day): IsoWeek {
	return weekText(dayNumber(day));
}

/** The calendar month of a day, `2026-11`. */
export function monthOf(day: Day): string {
	dayNumber(day);
	return day.slice(0, 7);
}

/** 1 for Monday to 7 for Sunday. */
export function weekdayOf(day: Day): number {
	return weekday(dayNumber(day));
}

/** Monday to Sunday of a week. */
export function daysOfWeek(week: IsoWeek): Day[] {
	const monday = mondayOf(week);
	return [0, 1, 2, 3, 4, 5, 6].map((n) => dayText(monday + n));
}

/** The first instant of a week's Monday in a zone. */
export function startOfWeek(week: IsoWeek, zone: string): InstantMs {
	return instantAt(dayText(mondayOf(week)), 0, zone);
}

/** The week `n` weeks later; earlier when negative. */
export function addWeeks(week: IsoWeek, n: number): IsoWeek {
	return weekText(mondayOf(week) + 7 * n);
}

/** Whole weeks from one week to another; negative when `to` is earlier. */
export function weeksBetween(from: IsoWeek, to: IsoWeek): number {
	return (mondayOf(to) - mondayOf(from)) / 7;
}

/** The day `n` days later; earlier when negative. */
export function addDays(day: Day, n: number): Day {
	return dayText(dayNumber(day) + n);
}

/** Whole days from one day to another; negative when `to` is earlier. */
export function daysBetween(from: Day, to: Day): number {
	return dayNumber(to) - dayNumber(from);
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
	const date = dateOf(dayNumber(day) + Math.floor(minute / MINUTES_PER_DAY));
	const { year, month, day: dayOfMonth } = date;
	const rest = minute % MINUTES_PER_DAY;
	const wall = { year, month, day: dayOfMonth, hour: Math.floor(rest / 60), minute: rest % 60 };
	const local = DateTime.fromObject(wall, { zone: checkedZone(zone) });
	return Math.min(...local.getPossibleOffsets().map((possible) => possible.toMillis()));
}

/** Whether a text is a day such as `2026-11-25` that is on the calendar. */
export function isDay(text: string): boolean {
	return numberOfDay(text) !== null;
}

/** Whether a text is a week such as `2026-W48` that is on the calendar. */
export function isWeek(text: string): boolean {
	return numberOfMonday(text) !== null;
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

/** Days since 1970-01-01. */
function dayNumber(day: Day): number {
	const number = numberOfDay(day);
	if (number === null) throw new RangeError(`"${day}" is not a day such as 2026-11-25`);
	return number;
}

function numberOfDay(text: string): number | null {
	if (!/^\d{4}-\d{2}-\d{2}$/.test(text)) return null;
	const [year, month, day] = [text.slice(0, 4), text.slice(5, 7), text.slice(8)].map(Number);
	const number = numberOf(year!, month!, day!);
	const date = dateOf(number);
	return date.month === month && date.day === day ? number : null;
}

/** The day number of a week's Monday. */
function mondayOf(week: IsoWeek): number {
	const number = numberOfMonday(week);
	if (number === null) throw new RangeError(`"${week}" is not a week such as 2026-W48`);
	return number;
}

/** Week 1 is that of 4 January. */
function numberOfMonday(text: string): number | null {
	if (!/^\d{4}-W\d{2}$/.test(text)) return null;
	const fourth = numberOf(Number(text.slice(0, 4)), 1, 4);
	const monday = fourth - weekday(fourth) + 1 + 7 * (Number(text.slice(6)) - 1);
	return weekText(monday) === text ? monday : null;
}

/** 1 for Monday to 7 for Sunday: 1970-01-01 was a Thursday. */
function weekday(number: number): number {
	return modulo(number + 3, 7) + 1;
}

/** The ISO week of a day number: that of its Thursday's year. */
function weekText(number: number): IsoWeek {
	const thursday = number - weekday(number) + 4;
	const { year } = dateOf(thursday);
	const week = Math.floor((thursday - numberOf(year, 1, 1)) / 7) + 1;
	return `${String(year).padStart(4, '0')}-W${two(week)}`;
}

function dayText(number: number): Day {
	const { year, month, day } = dateOf(number);
	return `${String(year).padStart(4, '0')}-${two(month)}-${two(day)}`;
}

/**
 * Days since 1970-01-01 of a date of the Gregorian calendar, and back: whole numbers alone, since pages ask
 * for tens of thousands. Years begin in March, so that the leap day comes last; 400 years are 146,097 days.
 */
function numberOf(year: number, month: number, day: number): number {
	const y = month <= 2 ? year - 1 : year;
	const era = Math.floor(y / 400);
	const ofEra = y - era * 400;
	const dayOfYear = Math.floor((153 * (month + (month > 2 ? -3 : 9)) + 2) / 5) + day - 1;
	const dayOfEra = ofEra * 365 + Math.floor(ofEra / 4) - Math.floor(ofEra / 100) + dayOfYear;
	return era * 146_097 + dayOfEra - DAYS_TO_1970;
}

function dateOf(number: number): { year: number; month: number; day: number } {
	const n = number + DAYS_TO_1970;
	const era = Math.floor(n / 146_097);
	const dayOfEra = n - era * 146_097;
	const ofEra = Math.floor(
		(dayOfEra -
			Math.floor(dayOfEra / 1460) +
			Math.floor(dayOfEra / 36_524) -
			Math.floor(dayOfEra / 146_096)) /
			365
	);
	const dayOfYear = dayOfEra - (365 * ofEra + Math.floor(ofEra / 4) - Math.floor(ofEra / 100));
	const m = Math.floor((5 * dayOfYear + 2) / 153);
	const month = m < 10 ? m + 3 : m - 9;
	const year = ofEra + era * 400 + (month <= 2 ? 1 : 0);
	return { year, month, day: dayOfYear - Math.floor((153 * m + 2) / 5) + 1 };
}

/** From 0000-03-01 to 1970-01-01. */
const DAYS_TO_1970 = 719_468;

function two(n: number): string {
	return n < 10 ? `0${n}` : String(n);
}

function modulo(n: number, by: number): number {
	return n - by * Math.floor(n / by);
}

/** `IANAZone.create` keeps what it made; asking the platform whether a zone exists each time is slow. */
function checkedZone(name: string): IANAZone {
	const zone = IANAZone.create(name);
	if (!zone.isValid) throw new RangeError(`"${name}" is not a time zone`);
	return zone;
}

/**
 * How far a zone is ahead of UTC at an instant. It is kept for every UTC day on which the clocks aren't
 * changed, since asking the platform is slow; null stands for a day on which they are.
 */
function offsetMs(instant: InstantMs, zoneName: string): number {
	const zone = checkedZone(zoneName);
	if (!(Math.abs(instant) <= 8.64e15)) throw new RangeError(`${instant} is not an instant`);
	const day = Math.floor(instant / MS_PER_DAY);
	const known = offsetsOf(zoneName);
	let offset = known.get(day);
	if (offset === undefined) {
		const start = zone.offset(day * MS_PER_DAY);
		offset = start === zone.offset((day + 1) * MS_PER_DAY) ? start : null;
		known.set(day, offset);
	}
	return (offset ?? zone.offset(instant)) * MS_PER_MINUTE;
}

const offsetsByZone = new Map<string, Map<number, number | null>>();

function offsetsOf(zoneName: string): Map<number, number | null> {
	const known = offsetsByZone.get(zoneName) ?? new Map<number, number | null>();
	if (known.size === 0 || known.size > MOST_DAYS) {
		known.clear();
		offsetsByZone.set(zoneName, known);
	}
	return known;
}

/** A century of them. */
const MOST_DAYS = 36_525;

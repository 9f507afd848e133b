import { describe, expect, it } from 'vitest';
import {
	dayOf,
	daysOfWeek,
	instantAt,
	isWeek,
	minuteOfDay,
	startOfWeek,
	weekOf,
	weekdayOf
} from '#lib/domain/quantity/week.ts';

/** ISO 8601 weeks, as Python's datetime.date.isocalendar() computes them (ran). */
const WEEKS: readonly [string, string, number][] = [
	['2005-01-01', '2004-W53', 6],
	['2007-12-31', '2008-W01', 1],
	['2008-12-29', '2009-W01', 1],
	['2010-01-03', '2009-W53', 7],
	['2020-12-31', '2020-W53', 4],
	['2021-01-03', '2020-W53', 7],
	['2024-12-30', '2025-W01', 1],
	['2025-12-28', '2025-W52', 7],
	['2025-12-29', '2026-W01', 1],
	['2026-01-01', '2026-W01', 4],
	['2026-11-25', '2026-W48', 3],
	['2026-12-27', '2026-W52', 7],
	['2026-12-28', '2026-W53', 1],
	['2026-12-31', '2026-W53', 4],
	['2027-01-03', '2026-W53', 7],
	['2027-01-04', '2027-W01', 1]
];

describe('ISO 8601 weeks', () => {
	it.each(WEEKS)('puts %s in %s, day %i', (day, week, weekday) => {
		expect(weekOf(day)).toBe(week);
		expect(weekdayOf(day)).toBe(weekday);
		expect(daysOfWeek(week)[weekday - 1]).toBe(day);
	});

	it('has 53 weeks in the same years as Python isocalendar (ran), 2000 to 2050', () => {
		const years = Array.from({ length: 51 }, (_, n) => 2000 + n);
		const long = years.filter((year) => isWeek(`${year}-W53`));
		expect(long).toEqual([2004, 2009, 2015, 2020, 2026, 2032, 2037, 2043, 2048]);
	});
});

/**
 * Clock changes of the IANA time zone database; Python zoneinfo with tzdata 2025b and Node with tz 2025c
 * agree on these (ran).
 */
describe('daylight saving', () => {
	const at = (text: string) => Date.parse(text);
	const LONDON = 'Europe/London';

	it.each([
		[LONDON, '2026-03-29', '2026-03-29T01:00Z', -60],
		[LONDON, '2027-03-28', '2027-03-28T01:00Z', -60],
		[LONDON, '2026-10-25', '2026-10-25T01:00Z', 60],
		[LONDON, '2027-10-31', '2027-10-31T01:00Z', 60],
		['Europe/Paris', '2026-03-29', '2026-03-29T01:00Z', -60],
		['America/New_York', '2026-03-08', '2026-03-08T07:00Z', -60],
		['America/New_York', '2026-11-01', '2026-11-01T06:00Z', 60],
		['America/New_York', '2027-03-14', '2027-03-14T07:00Z', -60],
		['America/New_York', '2027-11-07', '2027-11-07T06:00Z', 60],
		['America/Sao_Paulo', '2026-10-25', '2026-10-25T06:00Z', 0],
		['Asia/Kathmandu', '2026-03-29', '2026-03-29T06:00Z', 0]
	])('in %s on %s shifts at %s', (zone, day, shift, extraMinutes) => {
		const length = instantAt(day, 1440, zone) - instantAt(day, 0, zone);
		expect(length).toBe((24 * 60 + extraMinutes) * 60_000);
		const before = minuteOfDay(at(shift) - 60_000, zone);
		expect(minuteOfDay(at(shift), zone)).toBe((before + 1 - extraMinutes + 1440) % 1440);
	});

	it('takes the first of a time that comes twice: 01:30 on 2026-10-25 is 00:30Z, then 01:30Z', () => {
		expect(instantAt('2026-10-25', 90, LONDON)).toBe(at('2026-10-25T00:30Z'));
		expect(minuteOfDay(at('2026-10-25T01:30Z'), LONDON)).toBe(90);
	});

	it('moves a time that does not exist past the jump: 01:30 on 2026-03-29, zoneinfo fold=0', () => {
		expect(instantAt('2026-03-29', 90, LONDON)).toBe(at('2026-03-29T01:30Z'));
	});

	it('starts a week at local midnight on both sides of the change', () => {
		expect(startOfWeek('2026-W13', LONDON)).toBe(at('2026-03-23T00:00Z'));
		expect(startOfWeek('2026-W14', LONDON)).toBe(at('2026-03-29T23:00Z'));
		expect(dayOf(at('2026-03-29T23:00Z'), LONDON)).toBe('2026-03-30');
	});
});

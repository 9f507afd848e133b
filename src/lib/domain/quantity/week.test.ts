import { assert, constantFrom, integer, property } from 'fast-check';
import { DateTime } from 'luxon';
import { describe, expect, it } from 'vitest';
import {
	addDays,
	addWeeks,
	clockOf,
	dayOf,
	daysBetween,
	daysOfWeek,
	instantAt,
	isDay,
	isWeek,
	isZone,
	minuteOfDay,
	monthOf,
	parseDay,
	parseWeek,
	weekOf,
	weekdayOf,
	weeksBetween
} from './week.ts';

describe('days', () => {
	it('belong to the zone, not to UTC', () => {
		const instant = Date.UTC(2026, 5, 30, 23, 30);
		expect(dayOf(instant, 'UTC')).toBe('2026-06-30');
		expect(dayOf(instant, 'Europe/London')).toBe('2026-07-01');
		expect(dayOf(instant, 'America/New_York')).toBe('2026-06-30');
		expect(minuteOfDay(instant, 'Europe/London')).toBe(30);
		expect(clockOf(instant, 'Asia/Kathmandu')).toBe('05:15');
	});

	it('are counted across months, leap days and clock changes', () => {
		expect(addDays('2028-02-28', 1)).toBe('2028-02-29');
		expect(addDays('2026-01-01', -1)).toBe('2025-12-31');
		expect(daysBetween('2026-03-28', '2026-03-30')).toBe(2);
		expect(daysBetween('2026-03-30', '2026-03-28')).toBe(-2);
		expect(monthOf('2026-11-25')).toBe('2026-11');
		expect(weekdayOf('2026-11-25')).toBe(3);
	});

	it('are only those on the calendar, written in full', () => {
		expect(isDay('2026-02-28')).toBe(true);
		const not = [
			'2026-02-29',
			'2026-2-3',
			'20260203',
			'2026-W05',
			'2026-13-01',
			'',
			'2026-11-25T00:00'
		];
		expect(not.filter(isDay)).toEqual([]);
		expect(parseDay(' 2026-11-25 ')).toEqual({ ok: true, value: '2026-11-25' });
		expect(parseDay('25/11/2026', 'row 2, day')).toMatchObject({
			ok: false,
			problems: [{ path: 'row 2, day' }]
		});
		expect(() => addDays('soon', 1)).toThrow('"soon" is not a day');
	});
});

describe('weeks', () => {
	it('run Monday to Sunday and over the turn of the year', () => {
		expect(daysOfWeek('2026-W53')).toEqual([
			'2026-12-28',
			'2026-12-29',
			'2026-12-30',
			'2026-12-31',
			'2027-01-01',
			'2027-01-02',
			'2027-01-03'
		]);
		expect(addWeeks('2026-W53', 1)).toBe('2027-W01');
		expect(addWeeks('2027-W01', -1)).toBe('2026-W53');
		expect(weeksBetween('2026-W48', '2027-W02')).toBe(7);
	});

	it('are only those on the calendar', () => {
		expect(isWeek('2026-W53')).toBe(true);
		expect(['2027-W53', '2026-W00', '2026-W5', '2026-48'].filter(isWeek)).toEqual([]);
		expect(parseWeek('2027-W53', 'week').ok).toBe(false);
		expect(parseWeek('2026-W48')).toEqual({ ok: true, value: '2026-W48' });
	});
});

describe('instants of a shift', () => {
	it('carry minutes past midnight into the next day', () => {
		expect(instantAt('2026-11-25', 1440, 'Europe/London')).toBe(Date.UTC(2026, 10, 26));
		expect(instantAt('2026-11-25', 1800, 'Asia/Kathmandu')).toBe(Date.UTC(2026, 10, 26, 0, 15));
	});

	it('come back as the same wall-clock time on every minute of a plain day', () => {
		for (let minute = 0; minute < 1440; minute += 1) {
			const instant = instantAt('2026-11-25', minute, 'America/New_York');
			expect(minuteOfDay(instant, 'America/New_York')).toBe(minute);
		}
	});

	it('refuse what is not a minute, a zone or a day', () => {
		expect(() => instantAt('2026-11-25', 1.5, 'UTC')).toThrow('minute of the day');
		expect(() => instantAt('2026-11-25', -1, 'UTC')).toThrow('minute of the day');
		expect(() => instantAt('2026-11-25', 0, 'Europe/Nowhere')).toThrow('not a time zone');
		expect(() => dayOf(Number.NaN, 'UTC')).toThrow('not an instant');
		expect(isZone('Europe/Nowhere')).toBe(false);
	});
});

describe('the arithmetic of whole numbers', () => {
	const zones = constantFrom('Europe/London', 'America/New_York', 'Asia/Kathmandu', 'Pacific/Apia');
	const instant = integer({ min: -1e12, max: 4e12 });

	it('says what Luxon says of days, weeks and clocks', () => {
		assert(
			property(instant, zones, integer({ min: -900, max: 900 }), (at, zone, n) => {
				const local = DateTime.fromMillis(at, { zone });
				const utc = DateTime.fromISO(dayOf(at, zone), { zone: 'utc' });
				expect(dayOf(at, zone)).toBe(local.toFormat('yyyy-MM-dd'));
				expect(clockOf(at, zone)).toBe(local.toFormat('HH:mm'));
				expect(weekOf(dayOf(at, zone))).toBe(local.toFormat("kkkk-'W'WW"));
				expect(addDays(dayOf(at, zone), n)).toBe(utc.plus({ days: n }).toFormat('yyyy-MM-dd'));
				expect(addWeeks(weekOf(dayOf(at, zone)), n)).toBe(
					utc.plus({ weeks: n }).toFormat("kkkk-'W'WW")
				);
			}),
			{ numRuns: 300, seed: 25 }
		);
	});

	it('holds at every quarter of an hour around a change of the clocks', () => {
		for (const zone of ['Europe/London', 'America/New_York'])
			for (const change of [Date.UTC(2026, 2, 29, 1), Date.UTC(2026, 10, 1, 6)])
				for (let quarter = -100; quarter <= 100; quarter += 1) {
					const at = change + quarter * 900_000;
					const local = DateTime.fromMillis(at, { zone });
					expect(clockOf(at, zone)).toBe(local.toFormat('HH:mm'));
					expect(dayOf(at, zone)).toBe(local.toFormat('yyyy-MM-dd'));
				}
	});
});

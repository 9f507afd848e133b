import ICAL from 'ical.js';
import { describe, expect, it } from 'vitest';
import { instantAt } from '#lib/domain/quantity/week.ts';
import { calendarText } from '#lib/server/documents/calendar.ts';
import type { CalendarEntry } from '#lib/server/views/calendar.ts';

/**
 * Calendars against RFC 5545 (3.1 lines, 3.3.11 text: from memory; the folded lengths were run with
 * icalendar 4.0.3), read back with ical.js, a parser of other people's. The instants of the clock changes in
 * London are those of tzdata 2025b, run with Python's zoneinfo.
 */
const MADE = Date.UTC(2026, 10, 25, 9);
const entry = (over: Partial<CalendarEntry> = {}): CalendarEntry => ({
	...{ uid: 'test-1@trierbook', sequence: 3, summary: 'A-1 test 1', description: '' },
	...{ startMs: Date.UTC(2026, 10, 25, 10), endMs: Date.UTC(2026, 10, 25, 10, 15) },
	location: 'Drum roaster A',
	...over
});
const textOf = (...entries: readonly CalendarEntry[]) =>
	calendarText({ name: 'Corner Drum', entries }, MADE);
const linesOf = (text: string) => text.split('\r\n');
const octets = (line: string) => new TextEncoder().encode(line).length;

function readBack(text: string) {
	const calendar = new ICAL.Component(ICAL.parse(text));
	return calendar.getAllSubcomponents('vevent').map((event) => new ICAL.Event(event));
}

describe('a calendar', () => {
	it('ends every line in CRLF and has what must be there', () => {
		const text = textOf(entry());
		expect(text.endsWith('END:VCALENDAR\r\n')).toBe(true);
		expect(text.replaceAll('\r\n', '')).not.toMatch(/[\r\n]/);
		const lines = linesOf(text);
		expect(lines).toEqual(
			expect.arrayContaining([
				'BEGIN:VCALENDAR',
				'VERSION:2.0',
				'METHOD:PUBLISH',
				'UID:test-1@trierbook',
				'SEQUENCE:3',
				'DTSTAMP:20261125T090000Z',
				'DTSTART:20261125T100000Z',
				'DTEND:20261125T101500Z'
			])
		);
		expect(lines.some((line) => line.startsWith('PRODID:'))).toBe(true);
	});

	it('folds at 75 octets and splits no letter: 60 × é becomes 74 and 55', () => {
		const lines = linesOf(textOf(entry({ summary: 'é'.repeat(60) })));
		const at = lines.findIndex((line) => line.startsWith('SUMMARY:'));
		expect([octets(lines[at]!), octets(lines[at + 1]!)]).toEqual([74, 55]);
		expect(lines[at + 1]!.startsWith(' ')).toBe(true);
		const long = linesOf(textOf(entry({ description: '☕ Łódź, naïve; “roast” '.repeat(20) })));
		expect(Math.max(...long.map(octets))).toBeLessThanOrEqual(75);
	});

	it('escapes comma, semicolon, backslash and line break, and nothing else', () => {
		const lines = linesOf(textOf(entry({ summary: 'Roast, cool; weigh\\log\nnext line' })));
		expect(lines).toContain('SUMMARY:Roast\\, cool\\; weigh\\\\log\\nnext line');
		const plain = linesOf(textOf(entry({ summary: 'At 10:00 "slow"' })));
		expect(plain).toContain('SUMMARY:At 10:00 "slow"');
	});

	it('reads back as it was, in another reader', () => {
		const summary = 'Roast, cool; weigh\\log\nnext line';
		const description = 'Project XYZ Final Review\nConference Room - 3B\nCome Prepared.';
		const [event] = readBack(textOf(entry({ summary, description })));
		expect(event).toMatchObject({
			...{ summary, description, uid: 'test-1@trierbook', sequence: 3 },
			location: 'Drum roaster A'
		});
		expect(readBack(textOf())).toEqual([]);
	});

	it('is right across the changes of the clocks', () => {
		const zone = 'Europe/London';
		for (const [day, minute, utc] of [
			['2026-03-28', 480, Date.UTC(2026, 2, 28, 8)],
			['2026-03-29', 480, Date.UTC(2026, 2, 29, 7)],
			['2026-10-24', 480, Date.UTC(2026, 9, 24, 7)],
			['2026-10-25', 480, Date.UTC(2026, 9, 25, 8)],
			['2026-10-25', 90, Date.UTC(2026, 9, 25, 0, 30)]
		] as const) {
			const startMs = instantAt(day, minute, zone);
			const [event] = readBack(textOf(entry({ startMs, endMs: startMs + 900_000 })));
			expect(event!.startDate.toJSDate().getTime()).toBe(utc);
			expect(event!.startDate.zone.tzid).toBe('UTC');
		}
	});
});

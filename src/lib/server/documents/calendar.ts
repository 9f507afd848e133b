import ical, { ICalCalendarMethod } from 'ical-generator';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { Calendar } from '../views/calendar.ts';

/**
 * A calendar as RFC 5545 has it: lines of at most 75 octets that end in CRLF, text escaped, and times as UTC
 * instants, so that a change of the clocks between making and reading it moves nothing.
 */
export function calendarText({ name, entries }: Calendar, madeAtMs: InstantMs): string {
	const calendar = ical({
		name,
		prodId: { company: 'Trierbook', product: 'Week plan', language: 'EN' },
		method: ICalCalendarMethod.PUBLISH
	});
	for (const { uid, sequence, startMs, endMs, summary, description, location } of entries)
		calendar.createEvent({
			...{ id: uid, sequence, summary, description, location },
			...{ stamp: new Date(madeAtMs), start: new Date(startMs), end: new Date(endMs) }
		});
	return `${calendar.toString().trimEnd()}\r\n`;
}

import type { Day, InstantMs } from '#lib/domain/quantity/time.ts';
import { clockOf, dayOf } from '#lib/domain/quantity/week.ts';

/** A moment on the site's calendar and clock, for a page to word. */
export interface Moment {
	readonly day: Day;
	/** `14:05`. */
	readonly clock: string;
}

/** When an instant was at the site. */
export function momentOf(instant: InstantMs, zone: string): Moment {
	return { day: dayOf(instant, zone), clock: clockOf(instant, zone) };
}

/** The value of a date and time input, `2026-11-25T14:05`. */
export function inputTime(instant: InstantMs, zone: string): string {
	const { day, clock } = momentOf(instant, zone);
	return `${day}T${clock}`;
}

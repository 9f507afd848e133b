import type { InstantMs } from '../quantity/time.ts';
import { clockOf, dayOf } from '../quantity/week.ts';

/** An instant on the site's calendar and clock, `2026-11-27 17:00`. */
export function sayInstant(atMs: InstantMs, zone: string): string {
	return `${dayOf(atMs, zone)} ${clockOf(atMs, zone)}`;
}

/** Minutes as a person says them: `45 min`, `3 h 20 min`, `2 d 4 h`. */
export function sayMinutes(minutes: number): string {
	const whole = Math.round(minutes);
	if (whole < 60) return `${whole} min`;
	const hours = Math.floor(whole / 60);
	if (hours < 24) return withRest(`${hours} h`, whole % 60, 'min');
	return withRest(`${Math.floor(hours / 24)} d`, hours % 24, 'h');
}

function withRest(text: string, rest: number, unit: string): string {
	return rest === 0 ? text : `${text} ${rest} ${unit}`;
}

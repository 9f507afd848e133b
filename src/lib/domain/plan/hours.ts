import type { Day, InstantMs, IsoWeek } from '../quantity/time.ts';
import { daysOfWeek, instantAt } from '../quantity/week.ts';
import type { Presence, Window } from './problem.ts';

/**
 * From the hours of a usual week to the stretches of one ISO week in which roasters are staffed. Rules:
 * 1. A break cuts a shift in two; the roaster stays warm over it.
 * 2. A day of a closure has no shifts, of its roaster or of all.
 * 3. Overtime follows a shift until the roaster's next shift of that day, midnight or its limit.
 * 4. Hours on the clock are those of the site's zone: a shift over a clock change is an hour longer or
 *    shorter than it says.
 */

/** A stretch of a weekday; minutes after the site's midnight. */
export interface Hours {
	/** ISO weekday, Monday is 1. */
	readonly weekday: number;
	readonly startMin: number;
	readonly endMin: number;
}

/** Of one roaster, or of all where null. */
interface OfRoaster {
	readonly roasterId: number | null;
}

export interface Closure extends OfRoaster {
	/** Both included. */
	readonly fromDay: Day;
	readonly toDay: Day;
}

export interface UsualWeek {
	readonly shifts: readonly (Hours & { readonly roasterId: number })[];
	readonly breaks: readonly (Hours & OfRoaster)[];
	readonly profiling: readonly Hours[];
	readonly closures: readonly Closure[];
	readonly overtimeMin: number;
}

/** The windows of a week, by roaster and start as the shifts come. */
export function windowsIn(usual: UsualWeek, week: IsoWeek, zone: string): readonly Window[] {
	const days = daysOfWeek(week);
	return usual.shifts.flatMap((shift) => {
		const day = days[shift.weekday - 1]!;
		if (isClosed(usual.closures, shift.roasterId, day)) return [];
		const shiftStartMs = instantAt(day, shift.startMin, zone);
		const regularMs = instantAt(day, shift.endMin, zone);
		const latestMs = instantAt(day, latestEnd(usual, shift), zone);
		const pieces = withoutBreaks(usual, shift).map((piece) => ({
			startMs: instantAt(day, piece.startMin, zone),
			endMs: instantAt(day, piece.endMin, zone)
		}));
		return pieces.map(({ startMs, endMs }): Window => {
			const own = { roasterId: shift.roasterId, startMs, endMs, shiftStartMs };
			const isLast = endMs === regularMs && latestMs > regularMs;
			return isLast ? { ...own, endMs: latestMs, overtimeFromMs: regularMs } : own;
		});
	});
}

/** When somebody for profiling is there in a week; null where no such hours are kept: always. */
export function presencesIn(
	{ profiling, closures }: UsualWeek,
	week: IsoWeek,
	zone: string
): readonly Presence[] | null {
	if (profiling.length === 0) return null;
	const days = daysOfWeek(week);
	const all = profiling
		.filter(({ weekday }) => !isClosed(closures, null, days[weekday - 1]!))
		.map(({ weekday, startMin, endMin }) => ({
			startMs: instantAt(days[weekday - 1]!, startMin, zone),
			endMs: instantAt(days[weekday - 1]!, endMin, zone)
		}))
		.sort((a, b) => a.startMs - b.startMs);
	return joined(all);
}

/** Whether a roaster has a closure on a day; null asks for one of all roasters. */
export function isClosed(
	closures: readonly Closure[],
	roasterId: number | null,
	day: Day
): boolean {
	return closures.some(
		(one) =>
			(one.roasterId === null || one.roasterId === roasterId) &&
			one.fromDay <= day &&
			day <= one.toDay
	);
}

function latestEnd({ shifts, overtimeMin }: UsualWeek, shift: UsualWeek['shifts'][number]): number {
	const later = shifts
		.filter(
			({ roasterId, weekday, startMin }) =>
				roasterId === shift.roasterId && weekday === shift.weekday && startMin >= shift.endMin
		)
		.map(({ startMin }) => startMin);
	return Math.min(shift.endMin + overtimeMin, ...later, 24 * 60);
}

/** What breaks leave of a shift. */
function withoutBreaks(
	{ breaks }: UsualWeek,
	shift: UsualWeek['shifts'][number]
): readonly { readonly startMin: number; readonly endMin: number }[] {
	const own = breaks
		.filter(
			(one) =>
				one.weekday === shift.weekday &&
				(one.roasterId === null || one.roasterId === shift.roasterId) &&
				one.startMin < shift.endMin &&
				one.endMin > shift.startMin
		)
		.toSorted((a, b) => a.startMin - b.startMin);
	const pieces: { startMin: number; endMin: number }[] = [];
	let { startMin } = shift;
	for (const one of own) {
		if (one.startMin > startMin) pieces.push({ startMin, endMin: one.startMin });
		startMin = Math.max(startMin, one.endMin);
	}
	if (startMin < shift.endMin) pieces.push({ startMin, endMin: shift.endMin });
	return pieces;
}

/** Stretches in order, those that touch or overlap made one. */
function joined(sorted: readonly Presence[]): readonly Presence[] {
	const out: { startMs: InstantMs; endMs: InstantMs }[] = [];
	for (const one of sorted) {
		const last = out.at(-1);
		if (last && one.startMs <= last.endMs) last.endMs = Math.max(last.endMs, one.endMs);
		else out.push({ ...one });
	}
	return out;
}

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
 * 5. Hours of a single day count beside the usual ones, on closed days too. An extra shift that touches or
 *    overlaps another one of its roaster makes that longer.
 * 6. A stoppage takes its stretch out of every shift; after it the roaster is cold.
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

/** Hours of one day: an extra shift of a roaster, somebody for profiling, a stoppage of one or all. */
export interface DayHours extends OfRoaster {
	readonly kind: 'shift' | 'profiling' | 'stoppage';
	readonly day: Day;
	/** Minutes after the site's midnight. */
	readonly startMin: number;
	readonly endMin: number;
}

export interface UsualWeek {
	readonly shifts: readonly (Hours & { readonly roasterId: number })[];
	readonly breaks: readonly (Hours & OfRoaster)[];
	readonly profiling: readonly Hours[];
	readonly closures: readonly Closure[];
	readonly overtimeMin: number;
	/** What single days have beside it; nothing where left out. */
	readonly days?: readonly DayHours[];
}

/** The windows of a week, by roaster and start as the shifts come. */
export function windowsIn(usual: UsualWeek, week: IsoWeek, zone: string): readonly Window[] {
	const shifts = shiftsIn(usual, week);
	return shifts.flatMap((shift) => {
		const { day, roasterId } = shift;
		const shiftStartMs = instantAt(day, shift.startMin, zone);
		const regularMs = instantAt(day, shift.endMin, zone);
		const latestMs = instantAt(day, latestEnd(usual, shifts, shift), zone);
		const pieces = withoutBreaks(usual, shift).map((piece): Window => {
			const [startMs, endMs] = [piece.startMin, piece.endMin].map((min) =>
				instantAt(day, min, zone)
			) as [InstantMs, InstantMs];
			const own = { roasterId, startMs, endMs, shiftStartMs };
			const isLast = endMs === regularMs && latestMs > regularMs;
			return isLast ? { ...own, endMs: latestMs, overtimeFromMs: regularMs } : own;
		});
		return stoppagesOf(usual, shift).reduce<readonly Window[]>(
			(left, one) =>
				left.flatMap((window) =>
					without(window, instantAt(day, one.startMin, zone), instantAt(day, one.endMin, zone))
				),
			pieces
		);
	});
}

/** A shift on a day of the week. */
interface ShiftOn extends Hours {
	readonly roasterId: number;
	readonly day: Day;
}

/** The usual shifts of the days that are not closed, with what single days add to them (rule 5). */
function shiftsIn({ shifts, closures, days = [] }: UsualWeek, week: IsoWeek): readonly ShiftOn[] {
	const weekDays = daysOfWeek(week);
	const usual = shifts
		.map((shift): ShiftOn => ({ ...shift, day: weekDays[shift.weekday - 1]! }))
		.filter(({ roasterId, day }) => !isClosed(closures, roasterId, day));
	const extra = days
		.filter(({ kind, roasterId, day }) => kind === 'shift' && roasterId && weekDays.includes(day))
		.toSorted((a, b) => a.roasterId! - b.roasterId! || a.startMin - b.startMin)
		.sort((a, b) => (a.day < b.day ? -1 : a.day > b.day ? 1 : 0));
	return extra.reduce<readonly ShiftOn[]>((all, { roasterId, day, startMin, endMin }) => {
		const meets = (one: ShiftOn) =>
			one.roasterId === roasterId &&
			one.day === day &&
			one.startMin <= endMin &&
			startMin <= one.endMin;
		const joined = all.filter(meets);
		return [
			...all.filter((one) => !meets(one)),
			{
				...{ roasterId: roasterId!, day, weekday: weekDays.indexOf(day) + 1 },
				startMin: Math.min(startMin, ...joined.map((one) => one.startMin)),
				endMin: Math.max(endMin, ...joined.map((one) => one.endMin))
			}
		];
	}, usual);
}

/** Rule 6, in order. */
function stoppagesOf({ days = [] }: UsualWeek, { roasterId, day }: ShiftOn): readonly DayHours[] {
	return days
		.filter(
			(one) =>
				one.kind === 'stoppage' &&
				one.day === day &&
				(one.roasterId === null || one.roasterId === roasterId)
		)
		.toSorted((a, b) => a.startMin - b.startMin);
}

/** What a stoppage leaves of a window; what is after it begins cold. */
function without(window: Window, fromMs: InstantMs, toMs: InstantMs): readonly Window[] {
	const { startMs, endMs, shiftStartMs = startMs, overtimeFromMs } = window;
	if (endMs <= fromMs) return [window];
	if (toMs <= startMs) return [{ ...window, shiftStartMs: Math.max(shiftStartMs, toMs) }];
	const { overtimeFromMs: _, ...plain } = window;
	const piece = (from: InstantMs, to: InstantMs, coldAtMs: InstantMs): Window[] => {
		if (to <= from) return [];
		const isOver = overtimeFromMs !== undefined && overtimeFromMs < to;
		const overtime = isOver ? { overtimeFromMs: Math.max(overtimeFromMs, from) } : {};
		return [{ ...plain, startMs: from, endMs: to, shiftStartMs: coldAtMs, ...overtime }];
	};
	return [...piece(startMs, fromMs, shiftStartMs), ...piece(toMs, endMs, toMs)];
}

/** When somebody for profiling is there in a week; null where no such hours are kept: always. */
export function presencesIn(
	{ profiling, closures, days: single = [] }: UsualWeek,
	week: IsoWeek,
	zone: string
): readonly Presence[] | null {
	if (profiling.length === 0) return null;
	const days = daysOfWeek(week);
	const usual = profiling
		.map(({ weekday, ...hours }) => ({ ...hours, day: days[weekday - 1]! }))
		.filter(({ day }) => !isClosed(closures, null, day));
	const extra = single.filter(({ kind, day }) => kind === 'profiling' && days.includes(day));
	const all = [...usual, ...extra]
		.map(({ day, startMin, endMin }) => ({
			startMs: instantAt(day, startMin, zone),
			endMs: instantAt(day, endMin, zone)
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

function latestEnd({ overtimeMin }: UsualWeek, shifts: readonly ShiftOn[], shift: ShiftOn): number {
	const later = shifts
		.filter(
			({ roasterId, day, startMin }) =>
				roasterId === shift.roasterId && day === shift.day && startMin >= shift.endMin
		)
		.map(({ startMin }) => startMin);
	return Math.min(shift.endMin + overtimeMin, ...later, 24 * 60);
}

/** What breaks leave of a shift. */
function withoutBreaks(
	{ breaks }: UsualWeek,
	shift: ShiftOn
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

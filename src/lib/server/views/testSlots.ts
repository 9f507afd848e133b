import { freeSlots, type DaySlots, type RoasterDay } from '#lib/domain/demand/slotDays.ts';
import type { LotNeed } from '#lib/domain/demand/explosion.ts';
import { isClosed, presencesIn, windowsIn, type UsualWeek } from '#lib/domain/plan/hours.ts';
import type { Presence, Window } from '#lib/domain/plan/problem.ts';
import type { InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import { addWeeks, dayOf, daysOfWeek, weekOf, weekdayOf } from '#lib/domain/quantity/week.ts';
import type { Slot } from '../store/production.ts';
import type { Roaster } from '../store/site.ts';

/** Weeks ahead in which days with free slots are looked for. */
const WEEKS_AHEAD = 12;
const MS_PER_MIN = 60_000;

export interface SlotFacts {
	readonly now: InstantMs;
	readonly zone: string;
	readonly roasters: readonly Roaster[];
	readonly usual: UsualWeek;
	/** Every slot that has not ended. */
	readonly slots: readonly Slot[];
	readonly needs: readonly LotNeed[];
}

/** Free test slots of every day ahead, by roaster: what production leaves of the usual week, and of the hours left today. */
export function testSlots(facts: SlotFacts): DaySlots[] {
	const { now, zone, roasters, usual } = facts;
	const today = dayOf(now, zone);
	const week = weekOf(today);
	// Minutes of a usual week; its closures are counted day by day below.
	const everyWeek = { ...usual, closures: [], days: [] };
	const windows = windowsIn(everyWeek, week, zone);
	const presences = presencesIn(everyWeek, week, zone);
	const usualMin = openMinutes(windows, presences, zone);
	const leftToday = openMinutes(
		windowsIn(usual, week, zone).map((w) => ({ ...w, startMs: Math.max(w.startMs, now) })),
		presencesIn(usual, week, zone),
		zone
	);
	const planned = plannedMinutes(facts);
	const plannedWeeks = new Set(facts.slots.map((slot) => slot.week));
	const days: RoasterDay[] = [];
	for (let ahead = 0; ahead < WEEKS_AHEAD; ahead++) {
		const each = addWeeks(week, ahead);
		const share = plannedWeeks.has(each) ? null : productionShare(facts, each, windows);
		const own = minutesOfDays(usual, each, zone);
		for (const day of daysOfWeek(each)) {
			if (day < today) continue;
			const minutes = day === today ? leftToday : (own ?? usualMin);
			for (const { id } of roasters) {
				const isShut = own === null && isClosed(usual.closures, id, day);
				const open = isShut ? 0 : (minutes.get(`${id} ${weekdayOf(day)}`) ?? 0);
				if (open === 0) continue;
				const takenMin = share === null ? (planned.get(`${id} ${day}`) ?? 0) : open * share;
				days.push({ day, roasterId: id, openMin: open, takenMin });
			}
		}
	}
	return freeSlots(days, new Map(roasters.map(({ id, cycleMin }) => [id, cycleMin])));
}

/** Minutes of a week in which single days have hours of their own; null for one as usual. */
function minutesOfDays(
	usual: UsualWeek,
	week: IsoWeek,
	zone: string
): ReadonlyMap<string, number> | null {
	if (!usual.days?.some(({ day }) => weekOf(day) === week)) return null;
	return openMinutes(windowsIn(usual, week, zone), presencesIn(usual, week, zone), zone);
}

/** By roaster and weekday. */
function openMinutes(
	windows: readonly Window[],
	presences: readonly Presence[] | null,
	zone: string
): ReadonlyMap<string, number> {
	const minutes = new Map<string, number>();
	for (const { roasterId, startMs, endMs } of windows) {
		const within = (presences ?? [{ startMs, endMs }]).reduce(
			(sum, one) => sum + Math.max(0, Math.min(endMs, one.endMs) - Math.max(startMs, one.startMs)),
			0
		);
		const day = dayOf(startMs, zone);
		const key = `${roasterId} ${weekdayOf(day)}`;
		minutes.set(key, (minutes.get(key) ?? 0) + within / MS_PER_MIN);
	}
	return minutes;
}

/** Minutes from now on that production slots take, by roaster and day. */
function plannedMinutes({ slots, now, zone }: SlotFacts): ReadonlyMap<string, number> {
	const minutes = new Map<string, number>();
	for (const { kind, roasterId, startAt, endAt } of slots) {
		if (kind !== 'production') continue;
		const key = `${roasterId} ${dayOf(startAt, zone)}`;
		minutes.set(key, (minutes.get(key) ?? 0) + (endAt - Math.max(startAt, now)) / MS_PER_MIN);
	}
	return minutes;
}

/** Share of a week's minutes that its orders take when spread evenly, at full charges; at most 1. */
function productionShare(
	{ needs, roasters }: SlotFacts,
	week: IsoWeek,
	windows: readonly Window[]
): number {
	const greenG = needs
		.filter((need) => need.week === week)
		.reduce((sum, need) => sum + need.greenG, 0);
	const canG = windows.reduce((sum, { roasterId, startMs, endMs }) => {
		const roaster = roasters.find(({ id }) => id === roasterId)!;
		return sum + ((endMs - startMs) / MS_PER_MIN / roaster.cycleMin) * roaster.maxChargeG;
	}, 0);
	return canG === 0 ? 1 : Math.min(1, greenG / canG);
}

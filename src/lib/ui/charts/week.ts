/** One slot of a roaster, minutes after the site's midnight. */
export interface WeekSlot {
	readonly fromMin: number;
	readonly toMin: number;
	/** What it is in a word of the trade: `test`, `production`, `changeover`, `cleaning`, `warm-up`. */
	readonly kind: string;
	readonly label: string;
	/** Charge, purpose, what it waits for. */
	readonly detail: string;
	readonly href: string;
	/** Ends after the time it is needed by. */
	readonly late: boolean;
	/** Fixed by a person: planning doesn't move it. */
	readonly locked: boolean;
	/** Names it where it may be moved by hand; null where it stays. */
	readonly moveId: number | null;
}

/** Where a slot is put by hand. */
export interface SlotPlace {
	/** Name of the roaster as the grid shows it. */
	readonly roaster: string;
	/** ISO 8601. */
	readonly day: string;
	/** Minutes after the site's midnight. */
	readonly minute: number;
}

/** Slots are moved by hand in steps of so many minutes. */
export const MOVE_STEP_MIN = 5;

/** A place a step up, down, left or right of another; columns are roasters within days. */
export function stepped(
	columns: readonly Omit<SlotPlace, 'minute'>[],
	place: SlotPlace,
	key: string
): SlotPlace | null {
	const by = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] }[key];
	if (!by) return null;
	const at = columns.findIndex(
		({ roaster, day }) => roaster === place.roaster && day === place.day
	);
	const column = columns[Math.min(columns.length - 1, Math.max(0, at + by[0]!))] ?? place;
	return { ...column, minute: roundedMinute(place.minute + by[1]! * MOVE_STEP_MIN) };
}

/** The nearest minute of the day that a slot can be put at. */
export function roundedMinute(minute: number): number {
	const whole = Math.round(minute / MOVE_STEP_MIN) * MOVE_STEP_MIN;
	return Math.min(24 * 60 - MOVE_STEP_MIN, Math.max(0, whole));
}

export interface WeekRoaster {
	readonly name: string;
	/** Shifts in which it may run. */
	readonly windows: readonly { readonly fromMin: number; readonly toMin: number }[];
	readonly slots: readonly WeekSlot[];
}

export interface WeekDay {
	/** ISO 8601. */
	readonly day: string;
	/** `Mon 23 Nov`. */
	readonly label: string;
	readonly roasters: readonly WeekRoaster[];
}

/** First and last whole hour that any shift or slot touches, in minutes; a day of 8 hours when none does. */
export function hoursShown(days: readonly WeekDay[]): { fromMin: number; toMin: number } {
	const spans = days.flatMap((day) => day.roasters.flatMap((r) => [...r.windows, ...r.slots]));
	if (spans.length === 0) return { fromMin: 480, toMin: 960 };
	const from = Math.min(...spans.map((s) => s.fromMin));
	const to = Math.max(...spans.map((s) => s.toMin));
	return { fromMin: Math.floor(from / 60) * 60, toMin: Math.ceil(to / 60) * 60 };
}

/**
 * Pixels a minute at which a usual batch has room for its two lines of text: by the shortest test or
 * production slot, within what a screen can hold.
 */
export function pxPerMinute(days: readonly WeekDay[]): number {
	const batches = days
		.flatMap((day) => day.roasters.flatMap((roaster) => roaster.slots))
		.filter((slot) => slot.kind === 'test' || slot.kind === 'production');
	const shortest = Math.min(...batches.map((slot) => slot.toMin - slot.fromMin));
	return batches.length === 0 ? 1 : Math.min(Math.max(34 / shortest, 1), 2.3);
}

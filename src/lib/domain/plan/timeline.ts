import type { InstantMs } from '../quantity/time.ts';
import { changeoverBetween } from './changeover.ts';
import {
	ROAST_SHADES,
	type BatchTraits,
	type Roaster,
	type SlotFacts,
	type Window
} from './problem.ts';

/** One roaster's slots in time order, and where a further batch finds room between them. */

export const MINUTE_MS = 60_000;

export interface Placed {
	readonly slot: SlotFacts;
	readonly traits: BatchTraits;
	readonly locked: boolean;
}

export interface Timeline {
	readonly roaster: Roaster;
	/** In time order. */
	readonly windows: readonly Window[];
	/** In time order. */
	readonly placed: readonly Placed[];
	readonly fromMs: InstantMs;
	/** Where one more batch might go, in time order. */
	readonly gaps: readonly Gap[];
	/** Changeover minutes by traits of the earlier and the later batch. */
	readonly changeoverMin: readonly number[];
}

/** Where a batch can go. */
export interface Fit {
	readonly startMs: InstantMs;
	/** Warm-up and changeover before it, minutes. */
	readonly setupMin: number;
}

/** A stretch of a window between two neighbours, long enough for a batch without setup. */
interface Gap {
	readonly window: Window;
	readonly endMs: InstantMs;
	/** What ran last before it, in this window or an earlier one. */
	readonly before: SlotEnd | null;
	/** What comes next, in this window or a later one. */
	readonly after: Placed | null;
}

/** What a later batch minds about an earlier one. */
interface SlotEnd {
	readonly endMs: InstantMs;
	readonly traits: BatchTraits;
}

/** A roaster's timeline with what is placed on it from the start. */
export function timelineOf(
	roaster: Roaster,
	windows: readonly Window[],
	placed: readonly Placed[],
	fromMs: InstantMs
): Timeline {
	const ownWindows = windows
		.filter((window) => window.roasterId === roaster.id)
		.sort((a, b) => a.startMs - b.startMs);
	const ownPlaced = placed
		.filter(({ slot }) => slot.roasterId === roaster.id)
		.sort((a, b) => a.slot.startMs - b.slot.startMs);
	return {
		roaster,
		windows: ownWindows,
		placed: ownPlaced,
		gaps: gapsOf(roaster, ownWindows, ownPlaced),
		fromMs,
		changeoverMin: ALL_TRAITS.flatMap((earlier) =>
			ALL_TRAITS.map((later) => changeoverBetween(roaster, earlier, later)?.minutes ?? 0)
		)
	};
}

/** The timeline with more slots. */
export function withSlots(timeline: Timeline, more: readonly Placed[]): Timeline {
	const placed = [...timeline.placed, ...more].sort((a, b) => a.slot.startMs - b.slot.startMs);
	return { ...timeline, placed, gaps: gapsOf(timeline.roaster, timeline.windows, placed) };
}

function gapsOf(
	roaster: Roaster,
	windows: readonly Window[],
	placed: readonly Placed[]
): readonly Gap[] {
	const gaps: Gap[] = [];
	let next = 0;
	for (const window of windows) {
		while (next < placed.length && placed[next]!.slot.endMs <= window.startMs) next += 1;
		let isInside = true;
		for (; isInside; next += isInside ? 1 : 0) {
			const before = slotEnd(placed[next - 1]);
			const after = placed[next] ?? null;
			isInside = after !== null && after.slot.startMs < window.endMs;
			const endMs = isInside ? after!.slot.startMs : window.endMs;
			const startMs = Math.max(window.startMs, before?.endMs ?? window.startMs);
			if (endMs - startMs >= roaster.cycleMin * MINUTE_MS)
				gaps.push({ window, endMs, before, after });
		}
	}
	return gaps;
}

/**
 * The earliest starts of up to `count` like batches at or after `notBeforeMs`: each inside one window,
 * after its warm-up and changeover, and so that the slot after it keeps room for its own. Fewer when
 * there is no more room. One sweep over the gaps, however many batches are asked for.
 */
export function earliestFits(
	timeline: Timeline,
	traits: BatchTraits,
	notBeforeMs: InstantMs,
	count: number
): readonly Fit[] {
	const cycleMs = timeline.roaster.cycleMin * MINUTE_MS;
	const firstEndMs = Math.max(notBeforeMs, timeline.fromMs) + cycleMs;
	const fits: Fit[] = [];
	let [before, after]: [SlotEnd | null, Placed | null] = [null, null];
	for (const gap of timeline.gaps) {
		if (gap.endMs < firstEndMs) continue;
		// Between windows with no slot between them, what this very run left behind comes before.
		if (fits.length === 0 || gap.after !== after) before = gap.before;
		after = gap.after;
		while (fits.length < count) {
			const fit = startInGap(timeline, gap.window, before, traits, notBeforeMs);
			const endMs = fit.startMs + cycleMs;
			if (endMs > gap.window.endMs || !leavesRoom(timeline, gap, traits, endMs)) break;
			fits.push(fit);
			before = { endMs, traits };
		}
		if (fits.length === count) break;
	}
	return fits;
}

/** The first of `earliestFits`, null when there is none. */
export function earliestFit(
	timeline: Timeline,
	traits: BatchTraits,
	notBeforeMs: InstantMs
): Fit | null {
	return earliestFits(timeline, traits, notBeforeMs, 1)[0] ?? null;
}

/**
 * When a batch could start if its window had no end: after everything that starts in the window, ready
 * and not before the given instant.
 */
export function startAfterAll(
	timeline: Timeline,
	window: Window,
	traits: BatchTraits,
	notBeforeMs: InstantMs
): Fit {
	const before = slotEnd(timeline.placed.findLast(({ slot }) => slot.startMs < window.endMs));
	return startInGap(timeline, window, before, traits, notBeforeMs);
}

/** What a batch at an instant would find in the roaster; null when it is clean. */
export function traitsLeftAt(timeline: Timeline, atMs: InstantMs): BatchTraits | null {
	return leftBy(timeline, slotEnd(timeline.placed.findLast(({ slot }) => slot.startMs < atMs)));
}

/** Whether the first slot after a window keeps its setup when a batch of these traits comes before it. */
export function leavesRoomAfter(
	timeline: Timeline,
	window: Window,
	traits: BatchTraits,
	endMs: InstantMs
): boolean {
	const after = timeline.placed.find(({ slot }) => slot.startMs >= window.endMs) ?? null;
	const before = slotEnd(timeline.placed.findLast(({ slot }) => slot.startMs < window.endMs));
	return leavesRoom(timeline, { window, before, after }, traits, endMs);
}

function startInGap(
	timeline: Timeline,
	window: Window,
	before: SlotEnd | null,
	traits: BatchTraits,
	notBeforeMs: InstantMs
): Fit {
	const warm = before !== null && before.endMs > window.startMs;
	const setupMin =
		(warm ? 0 : timeline.roaster.warmUpMin) +
		changeoverMin(timeline, leftBy(timeline, before), traits);
	const freeMs = Math.max(window.startMs, timeline.fromMs, before?.endMs ?? window.startMs);
	return { startMs: Math.max(freeMs + setupMin * MINUTE_MS, notBeforeMs), setupMin };
}

/** Whether the slot after a gap still has its setup when a batch of these traits ends before it. */
function leavesRoom(
	timeline: Timeline,
	{ window, before, after }: Omit<Gap, 'endMs'>,
	traits: BatchTraits,
	endMs: InstantMs
): boolean {
	if (after === null) return true;
	const neededMin = changeoverMin(timeline, traits, after.traits);
	if (after.slot.startMs < window.endMs) return endMs + neededMin * MINUTE_MS <= after.slot.startMs;
	if (neededMin <= changeoverMin(timeline, leftBy(timeline, before), after.traits)) return true;
	const own = timeline.windows.find((other) => other.endMs > after.slot.startMs);
	const openMs = Math.max(own?.startMs ?? after.slot.startMs, timeline.fromMs);
	const setupMin = timeline.roaster.warmUpMin + neededMin;
	return openMs + setupMin * MINUTE_MS <= after.slot.startMs;
}

function slotEnd(placed: Placed | undefined): SlotEnd | null {
	return placed ? { endMs: placed.slot.endMs, traits: placed.traits } : null;
}

function leftBy(timeline: Timeline, before: SlotEnd | null): BatchTraits | null {
	return before?.traits ?? timeline.roaster.lastBatch;
}

function changeoverMin(
	timeline: Timeline,
	earlier: BatchTraits | null,
	later: BatchTraits
): number {
	if (earlier === null) return 0;
	return timeline.changeoverMin[traitsIndex(earlier) * ALL_TRAITS.length + traitsIndex(later)] ?? 0;
}

const ALL_TRAITS: readonly BatchTraits[] = [false, true].flatMap((decaf) =>
	[false, true].flatMap((certifiedOrganic) =>
		ROAST_SHADES.map((shade) => ({ decaf, certifiedOrganic, shade }))
	)
);

function traitsIndex({ decaf, certifiedOrganic, shade }: BatchTraits): number {
	return (
		(Number(decaf) * 2 + Number(certifiedOrganic)) * ROAST_SHADES.length +
		ROAST_SHADES.indexOf(shade)
	);
}

import type { InstantMs } from '../quantity/time.ts';
import { changeoverBetween, isFlavoured } from './changeover.ts';
import {
	ROAST_SHADES,
	shiftStartOf,
	type BatchTraits,
	type Presence,
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
	/** Changeover minutes by traits of the earlier and the later batch; -1 until asked for. */
	readonly changeoverMin: Int16Array;
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

/** What is asked of a batch's place, beside room. */
export interface Wish {
	readonly traits: BatchTraits;
	readonly notBeforeMs: InstantMs;
	/** It must lie inside one of these; null when anywhere will do. In time order. */
	readonly within: readonly Presence[] | null;
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
		changeoverMin: changeoverTable(roaster)
	};
}

const tables = new WeakMap<Roaster, Int16Array>();

/** One for a roaster: it is asked for thousands of times, of a few traits. */
function changeoverTable(roaster: Roaster): Int16Array {
	const known = tables.get(roaster) ?? new Int16Array(ALL_TRAITS.length ** 2).fill(-1);
	tables.set(roaster, known);
	return known;
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
			const before = slotEnd(roaster, placed[next - 1]);
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
export function earliestFits(timeline: Timeline, wish: Wish, count: number): readonly Fit[] {
	const { traits, notBeforeMs } = wish;
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
			const fit = startInGap(timeline, gap.window, before, wish);
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
export function earliestFit(timeline: Timeline, wish: Wish): Fit | null {
	return earliestFits(timeline, wish, 1)[0] ?? null;
}

/**
 * When a batch could start if its window had no end: after everything that starts in the window, ready
 * and not before the given instant.
 */
export function startAfterAll(timeline: Timeline, window: Window, wish: Wish): Fit {
	const last = timeline.placed.findLast(({ slot }) => slot.startMs < window.endMs);
	return startInGap(timeline, window, slotEnd(timeline.roaster, last), wish);
}

/** What a batch at an instant would find in the roaster; null when it is clean. */
export function traitsLeftAt(timeline: Timeline, atMs: InstantMs): BatchTraits | null {
	const last = timeline.placed.findLast(({ slot }) => slot.startMs < atMs);
	return slotEnd(timeline.roaster, last)?.traits ?? null;
}

/** Whether the first slot after a window keeps its setup when a batch of these traits comes before it. */
export function leavesRoomAfter(
	timeline: Timeline,
	window: Window,
	traits: BatchTraits,
	endMs: InstantMs
): boolean {
	const after = timeline.placed.find(({ slot }) => slot.startMs >= window.endMs) ?? null;
	const last = timeline.placed.findLast(({ slot }) => slot.startMs < window.endMs);
	const before = slotEnd(timeline.roaster, last);
	return leavesRoom(timeline, { window, before, after }, traits, endMs);
}

function startInGap(
	timeline: Timeline,
	window: Window,
	before: SlotEnd | null,
	{ traits, notBeforeMs, within }: Wish
): Fit {
	const { roaster, fromMs } = timeline;
	const setupMin =
		(isWarm(window, before) ? 0 : roaster.warmUpMin) +
		changeoverMin(timeline, before?.traits ?? null, traits);
	const freeMs = Math.max(window.startMs, fromMs, before?.endMs ?? window.startMs);
	const startMs = Math.max(freeMs + setupMin * MINUTE_MS, notBeforeMs);
	return { startMs: startWithin(within, startMs, roaster.cycleMin * MINUTE_MS), setupMin };
}

/** Whether something ran since the start of the shift that a window is part of. */
export function isWarm(window: Window, before: { readonly endMs: InstantMs } | null): boolean {
	return before !== null && before.endMs > shiftStartOf(window);
}

/** The earliest start not before the given one that lies inside a presence; Infinity when none is left. */
function startWithin(
	within: readonly Presence[] | null,
	startMs: InstantMs,
	lastsMs: number
): InstantMs {
	if (within === null) return startMs;
	const there = within.find((one) => Math.max(one.startMs, startMs) + lastsMs <= one.endMs);
	return there ? Math.max(there.startMs, startMs) : Infinity;
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
	if (neededMin <= changeoverMin(timeline, before?.traits ?? null, after.traits)) return true;
	const own = timeline.windows.find((other) => other.endMs > after.slot.startMs);
	const openMs = Math.max(own?.startMs ?? after.slot.startMs, timeline.fromMs);
	const warm = own !== undefined && isWarm(own, { endMs });
	const setupMin = (warm ? 0 : timeline.roaster.warmUpMin) + neededMin;
	return openMs + setupMin * MINUTE_MS <= after.slot.startMs;
}

/** What comes before: a slot, or without one what ran last before the plan. */
function slotEnd(roaster: Roaster, placed: Placed | undefined): SlotEnd | null {
	if (placed) return { endMs: placed.slot.endMs, traits: placed.traits };
	const { lastBatch, lastEndMs } = roaster;
	return lastBatch && { endMs: lastEndMs ?? -Infinity, traits: lastBatch };
}

function changeoverMin(
	timeline: Timeline,
	earlier: BatchTraits | null,
	later: BatchTraits
): number {
	if (earlier === null) return 0;
	const at = traitsIndex(earlier) * ALL_TRAITS.length + traitsIndex(later);
	const known = timeline.changeoverMin[at]!;
	if (known >= 0) return known;
	const minutes = changeoverBetween(timeline.roaster, earlier, later)?.minutes ?? 0;
	timeline.changeoverMin[at] = minutes;
	return minutes;
}

/** Every combination of traits, in the order of their numbers. */
export const ALL_TRAITS: readonly BatchTraits[] = [false, true].flatMap((flavoured) =>
	[false, true].flatMap((decaf) =>
		[false, true].flatMap((certifiedOrganic) =>
			ROAST_SHADES.map((shade) => ({ decaf, certifiedOrganic, shade, flavoured }))
		)
	)
);

/** The number of a combination of traits. */
export function traitsIndex(traits: BatchTraits): number {
	const { decaf, certifiedOrganic, shade } = traits;
	return (
		((Number(isFlavoured(traits)) * 2 + Number(decaf)) * 2 + Number(certifiedOrganic)) *
			ROAST_SHADES.length +
		ROAST_SHADES.indexOf(shade)
	);
}

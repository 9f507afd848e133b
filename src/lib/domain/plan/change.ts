import { formatKg } from '../quantity/mass.ts';
import type { InstantMs } from '../quantity/time.ts';
import { nearestChangeG, splitsOf } from './batches.ts';
import { changeoverBetween } from './changeover.ts';
import type { Change } from './plan.ts';
import type { BatchTraits, PlanProblem, Presence, Roaster, Window } from './problem.ts';
import { sayInstant } from './say.ts';
import {
	MINUTE_MS,
	leavesRoomAfter,
	startAfterAll,
	traitsLeftAt,
	type Timeline
} from './timeline.ts';

/**
 * What would make an unplaced need fit, everything else left as it is: the least mass when charge limits
 * are in the way, the fewest minutes of staffed time when room is. Changes of two or more things at once
 * are not looked for.
 */

interface Waiting extends BatchTraits {
	readonly dueMs: InstantMs;
	readonly notBeforeMs: InstantMs | null;
}

interface Candidate {
	readonly change: Change;
	readonly minutes: number;
	readonly onTime: boolean;
}

/** The smallest change of a need's mass after which the roasters' batches hold it exactly. */
export function changeForNeed(greenG: number, roasters: readonly Roaster[]): Change | null {
	const byG = nearestChangeG(greenG, roasters);
	if (byG === null || byG === 0) return null;
	const word = byG > 0 ? 'more' : 'less';
	const text = `${formatKg(Math.abs(byG))} ${word} would make it ${formatKg(greenG + byG)}, which batches can hold.`;
	return { kind: 'change need', byG, text };
}

/** The nearest charge that the test's roaster takes. */
export function changeForTest(chargeG: number, roaster: Roaster): Change {
	const toG = Math.min(Math.max(chargeG, roaster.minChargeG), roaster.maxChargeG);
	return { kind: 'change charge', toG, text: `A charge of ${formatKg(toG)} would fit.` };
}

/**
 * The fewest minutes of staffed time, as a longer or a further window on one of the roasters, that hold
 * the need; on time where that can be had.
 */
export function changeForRoom(
	problem: PlanProblem,
	need: Waiting,
	greenG: number,
	timelines: readonly Timeline[]
): Change | null {
	const candidates = timelines.flatMap((timeline) => {
		const split = splitsOf(greenG, [timeline.roaster])[0];
		if (split?.plannedG !== greenG) return [];
		const longer = timeline.windows.flatMap((window) =>
			extension(problem, need, timeline, window, split.minutes)
		);
		const isFree = presencesFor(problem, need) === null;
		return [...longer, ...(isFree ? [addition(problem, need, timeline, split.minutes)] : [])];
	});
	const best = candidates.reduce<Candidate | null>(
		(kept, one) => (kept === null || isSmaller(one, kept) ? one : kept),
		null
	);
	return best?.change ?? null;
}

/** Where a need may lie, for a test that somebody for profiling has to be at. */
function presencesFor({ profiling }: PlanProblem, need: Waiting): readonly Presence[] | null {
	return 'testBatchId' in need ? (profiling ?? null) : null;
}

function isSmaller(a: Candidate, b: Candidate): boolean {
	return a.onTime === b.onTime ? a.minutes < b.minutes : a.onTime;
}

function extension(
	problem: PlanProblem,
	need: Waiting,
	timeline: Timeline,
	window: Window,
	batchMin: number
): readonly Candidate[] {
	if (window.endMs <= problem.fromMs) return [];
	const { startMs } = startAfterAll(timeline, window, {
		traits: need,
		notBeforeMs: Math.max(need.notBeforeMs ?? problem.fromMs, problem.fromMs),
		within: presencesFor(problem, need)
	});
	// Longer hours bring nobody for profiling.
	if (startMs === Infinity) return [];
	const endMs = startMs + batchMin * MINUTE_MS;
	const byMin = Math.ceil((endMs - window.endMs) / MINUTE_MS);
	const newEndMs = window.endMs + byMin * MINUTE_MS;
	const next = timeline.windows.find((other) => other.startMs >= window.endMs);
	const blocked = timeline.placed.some(
		({ slot }) => slot.startMs >= window.endMs && slot.startMs < newEndMs
	);
	if (byMin <= 0 || blocked || (next && next.startMs < newEndMs)) return [];
	if (!leavesRoomAfter(timeline, window, need, endMs)) return [];
	const { id, name } = timeline.roaster;
	const change: Change = {
		kind: 'extend window',
		roasterId: id,
		endMs: window.endMs,
		byMin,
		text: `${byMin} min more on ${name} after ${sayInstant(window.endMs, problem.zone)} would hold it${endMs > need.dueMs ? ', late' : ''}.`
	};
	return [{ change, minutes: byMin, onTime: endMs <= need.dueMs }];
}

function addition(
	problem: PlanProblem,
	need: Waiting,
	timeline: Timeline,
	batchMin: number
): Candidate {
	const { roaster } = timeline;
	const left = traitsLeftAt(timeline, Infinity);
	const changeoverMin = changeoverBetween(roaster, left, need)?.minutes ?? 0;
	const minutes = roaster.warmUpMin + changeoverMin + batchMin;
	const fromMs = Math.max(
		problem.fromMs,
		need.notBeforeMs ?? problem.fromMs,
		timeline.windows.at(-1)?.endMs ?? problem.fromMs,
		timeline.placed.at(-1)?.slot.endMs ?? problem.fromMs
	);
	const onTime = fromMs + minutes * MINUTE_MS <= need.dueMs;
	const text = `A further ${minutes} min on ${roaster.name} from ${sayInstant(fromMs, problem.zone)} on would hold it${onTime ? '' : ', late'}.`;
	return {
		change: { kind: 'add window', roasterId: roaster.id, minutes, fromMs, text },
		minutes,
		onTime
	};
}

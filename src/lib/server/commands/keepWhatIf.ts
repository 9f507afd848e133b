import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { loadWeekProblem } from '../views/planProblem.ts';
import { loadRoastery } from '../views/roastery.ts';
import { changedOrders } from '../views/whatIf/page.ts';
import type { WorkedOut } from '../views/whatIf/work.ts';
import { note, type Deed } from './act.ts';
import { changeExpectedDay } from './changeExpectedDay.ts';
import { keepPlan } from './planWeek.ts';
import { addDayHours } from './savePlanning.ts';
import { saveWeekOrders } from './saveWeekOrders.ts';
import { changedMeanwhile } from './weekChanges.ts';

/** What was on the page when somebody chose to keep it. */
export interface SeenWhatIf {
	/** Of the week's plan. */
	readonly version: number;
	readonly digest: string;
}

/**
 * Makes a what-if true: records what was supposed and plans the week so, in one transaction. Rules:
 * 1. The plan kept is the one that was looked at: its digest is the same, worked out anew from the records.
 * 2. With the changes recorded, the week's problem is made anew and must be the one that was planned, whole.
 * 3. Taking it back on the week page brings the slots back; what was recorded are facts, and stay.
 */
export async function keepWhatIf(
	deed: Deed,
	worked: WorkedOut,
	words: readonly string[],
	seen: SeenWhatIf
): Promise<Outcome<{ slots: number; unplaced: number }>> {
	const { asked, plan, after, weights, freed } = worked;
	const { week, fromMs, changes } = asked;
	const changed = await changedMeanwhile(deed, week, seen.version);
	if (changed) return bad(changed);
	if (changes.length === 0)
		return bad({ path: 'what-if', message: 'There is no change to keep; add one first.' });
	if (fromMs < deed.now)
		return bad({
			path: 'what-if',
			message:
				'It plans from a time that has passed meanwhile. It was worked out anew: keep it again.'
		});
	if (worked.digest !== seen.digest) return bad(RECORDS_CHANGED);
	const recorded = await record(deed, worked);
	if (!recorded.ok) return recorded;
	let kept = { slots: 0, unplaced: 0 };
	if (plan) {
		const roastery = await loadRoastery(deed.tx, deed.now);
		const ids = freed.map(({ id }) => id);
		const { problem, unservable } = await loadWeekProblem(deed.tx, roastery, week, fromMs, ids);
		if (JSON.stringify(problem) !== JSON.stringify(after.made.problem)) return bad(RECORDS_CHANGED);
		const outcome = await keepPlan(
			deed,
			week,
			{ problem, unservable, plan, weights, freed: ids },
			`kept a what-if (${words.join('; ')})`
		);
		if (!outcome.ok) return outcome;
		kept = outcome.value;
	}
	await note(deed, 'keep a what-if', null, {
		week,
		changes: words,
		planned: plan !== null,
		...kept
	});
	return good(kept);
}

const RECORDS_CHANGED = {
	path: 'what-if',
	message:
		'Orders, tests, stock, hours or slots have changed since you looked. It was worked out anew: look at it and keep it again.'
};

/** Writes what was supposed, each by its own act. */
async function record(deed: Deed, worked: WorkedOut): Promise<Outcome<null>> {
	const byWeek = Map.groupBy(changedOrders(worked), ({ week }) => week);
	for (const [week, orders] of byWeek) {
		const rows = orders.map(({ product, roastedG, seenG }) => ({
			...{ product: product.code, roastedG, seenG }
		}));
		const saved = await saveWeekOrders(deed, week, rows);
		if (!saved.ok) return saved;
	}
	const hours = worked.newHours.map((row) => ({ ...row, reason: '' }));
	if (hours.length > 0) {
		const saved = await addDayHours(deed, hours);
		if (!saved.ok) return saved;
	}
	const { changes } = worked.asked;
	const { lots } = worked.before.roastery;
	const arrivals = new Map(
		changes.flatMap((one) => (one.kind === 'arrival' ? [[one.lotId, one.day]] : []))
	);
	for (const [lotId, day] of arrivals) {
		const seen = lots.find(({ lot }) => lot.id === lotId)?.lot.expectedOn ?? null;
		const saved = await changeExpectedDay(deed, { lotId, day, seen });
		if (!saved.ok) return saved;
	}
	return good(null);
}

import { eq } from 'drizzle-orm';
import { consequenceOf, giveWay } from '#lib/domain/plan/move.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { dayOf } from '#lib/domain/quantity/week.ts';
import { slot, weekPlan } from '../db/schema.ts';
import type { Slot } from '../store/production.ts';
import { loadRoastery } from '../views/roastery.ts';
import { slotWords } from '../views/week.ts';
import { loadStanding } from '../views/weekStanding.ts';
import { note, type Deed } from './act.ts';
import { putSlot } from './moveSlot.ts';
import { recordProduction } from './recordProduction.ts';
import { recordTestRoast } from './recordTestRoast.ts';
import { rememberWeek, shiftedPlan } from './weekChanges.ts';

export interface SlotRecord {
	readonly slotId: number;
	readonly roastedAt: InstantMs;
	readonly chargeG: number;
	readonly outG: number;
	readonly note: string;
}

/**
 * What really happened in a slot: it becomes a production batch or the roast of its test, and the plan bends
 * to it. Rules:
 * 1. The slot stands where it really was, fixed, and keeps where it was planned.
 * 2. Later slots of that roaster on that day that nobody fixed keep their start or take the next that fits,
 *    not before now; they keep where they were planned first.
 */
export async function recordSlot(
	deed: Deed,
	input: SlotRecord
): Promise<Outcome<{ gaveWay: number }>> {
	const row = (await deed.tx.select().from(slot).where(eq(slot.id, input.slotId)))[0];
	if (!row)
		return bad({
			path: 'slot',
			message: 'This slot is not there any more: the week was planned anew. Pick it again below.'
		});
	if (row.recordedAt !== null)
		return bad({ path: 'slot', message: 'This slot is recorded already.' });
	if (input.roastedAt > deed.now)
		return bad({ path: 'roasted_at', message: 'Found a time to come, expected when it started.' });
	const recorded = await becomeRecord(deed, row, input);
	if (!recorded.ok) return recorded;
	const version = await rememberWeek(deed, row.week, 'recorded a slot on the floor', true);
	await deed.tx
		.update(slot)
		.set({
			...{ startAt: input.roastedAt, endAt: input.roastedAt + row.endAt - row.startAt },
			...{ chargeG: input.chargeG, note: input.note, locked: true, recordedAt: deed.now },
			plannedStartAt: row.plannedStartAt ?? row.startAt,
			productionId: recorded.value
		})
		.where(eq(slot.id, row.id));
	const bent = await bend(deed, row, version);
	await note(deed, 'record a slot', row.lotId, {
		...{ slot: bent.what, startedAt: input.roastedAt, chargeG: input.chargeG, outG: input.outG },
		...{ note: input.note, gaveWay: bent.gaveWay }
	});
	return good({ gaveWay: bent.gaveWay });
}

/** The record that the slot becomes; the number of the production batch, null for a test. */
async function becomeRecord(
	deed: Deed,
	{ lotId, productId, testBatchId, roasterId }: Slot,
	{ roastedAt, chargeG, outG, note: text }: SlotRecord
): Promise<Outcome<number | null>> {
	if (testBatchId !== null) {
		const roast = { testBatchId, roastedAt, chargeG, outG, note: text, file: null };
		const tested = await recordTestRoast(deed, roast);
		return tested.ok ? good(null) : tested;
	}
	const batch = { productId: productId!, roasterId, roastedAt, chargeG, outG };
	const made = await recordProduction(deed, lotId, [batch]);
	return made.ok ? good(made.value.ids[0]!) : made;
}

/** Rule 2. */
async function bend(
	deed: Deed,
	was: Slot,
	version: number
): Promise<{ readonly what: string; readonly gaveWay: number }> {
	const roastery = await loadRoastery(deed.tx, deed.now);
	const zone = roastery.site.timeZone;
	const standing = await loadStanding(deed.tx, roastery, was.week, [], deed.now);
	const { problem, plan, rows, weights, names } = standing;
	const mayMove = (one: Slot) =>
		one.roasterId === was.roasterId &&
		one.startAt > was.startAt &&
		dayOf(one.startAt, zone) === dayOf(was.startAt, zone) &&
		!one.locked &&
		one.recordedAt === null;
	const placed = plan.slots.map((one, i) => (mayMove(rows[i]!) ? { ...one, locked: false } : one));
	const after = giveWay(problem, placed, (_, i) => !mayMove(rows[i]!));
	const found = consequenceOf(problem, { ...plan, slots: placed }, after, weights);
	for (const i of found.gaveWay) {
		const old = rows[i]!;
		await putSlot(deed, old, found.after[i]!, false, old.plannedStartAt ?? old.startAt);
	}
	if (standing.row)
		await deed.tx
			.update(weekPlan)
			.set(shiftedPlan(standing.row, version, found))
			.where(eq(weekPlan.week, was.week));
	return { what: slotWords(was, names), gaveWay: found.gaveWay.length };
}

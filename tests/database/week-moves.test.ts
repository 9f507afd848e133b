import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Outcome } from '#lib/domain/quantity/problem.ts';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { copyLastWeek } from '#lib/server/commands/copyWeek.ts';
import { moveSlotByHand } from '#lib/server/commands/moveSlot.ts';
import { lockSlot, planWeek } from '#lib/server/commands/planWeek.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { withdrawTest } from '#lib/server/commands/withdrawTest.ts';
import { undoWeekChange } from '#lib/server/commands/weekChanges.ts';
import { loadSlots, loadWeekPlan } from '#lib/server/store/production.ts';
import { loadCopy } from '#lib/server/views/weekCopy.ts';
import { loadMove } from '#lib/server/views/weekMove.ts';
import { loadWeekView } from '#lib/server/views/week.ts';
import { owner, someone } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { orderedFrom, releasedLot } from '#support/releasedLot.ts';
import { arrivedLot, done, SETTINGS, setUpRoastery } from '#support/smallRoastery.ts';

/** Slots moved by hand, by two people, and taken back (commands/moveSlot.ts, weekChanges.ts). */

/** Monday 23 November 2026, 06:00 in London; shifts are 07:00 to 15:00. */
const NOW = Date.UTC(2026, 10, 23, 6);
const WEEK = '2026-W48';
const MINUTE = 60_000;
let db: TestDatabase;
let act: Act;
let roasterId: number;
const at = (hour: number, minute = 0, day = 23) => Date.UTC(2026, 10, day, hour, minute);
const slots = () => loadSlots(db.database.orm, WEEK);
const starts = async () => (await slots()).map(({ startAt }) => startAt);
const version = async () => (await loadWeekPlan(db.database.orm, WEEK))!.version;
const problemsOf = (outcome: Outcome<unknown>) =>
	outcome.ok ? [] : outcome.problems.map(({ message }) => message);

beforeEach(async () => {
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Ada') };
	({ roasterId } = await setUpRoastery(act));
	for (const code of ['A-1', 'A-2', 'A-3']) {
		const lotId = await arrivedLot(act, code);
		done(
			await perform(act, (deed) =>
				planTest(deed, {
					...{ lotId, roasterId, plannedAt: NOW, purpose: 'first', change: 'none' },
					settings: SETTINGS
				})
			)
		);
	}
	done(await perform(act, (deed) => planWeek(deed, WEEK)));
});
afterEach(() => db.remove());

async function move(time: string, seen: number, by: Act = act, day = '2026-11-23') {
	const slotId = (await slots())[2]!.id;
	const fields = { slotId, roaster: 'R15', day, time };
	return perform(by, (deed) => moveSlotByHand(deed, WEEK, fields, seen));
}

describe('a slot moved by hand', () => {
	it('stands where it was put, fixed, and what is in its way gives way', async () => {
		expect(await starts()).toEqual([at(7, 30), at(7, 45), at(8)]);
		const moved = (await slots())[2]!;
		const fields = { slotId: moved.id, roaster: 'R15', day: '2026-11-23', time: '07:40' };
		const shown = done(await loadMove(db.database.orm, NOW, WEEK, fields));
		expect(shown).toMatchObject({
			what: 'A-3 test 1',
			to: 'Mon 23 Nov 07:40 on Drum roaster',
			clashes: []
		});
		expect(shown.gaveWay).toContain('A-1 test 1: Mon 23 Nov 07:30 becomes Mon 23 Nov 07:55');
		expect(await starts()).toEqual([at(7, 30), at(7, 45), at(8)]);
		expect(done(await move('07:40', await version()))).toEqual({ gaveWay: 2 });
		expect(await starts()).toEqual([at(7, 40), at(7, 55), at(8, 10)]);
		const first = (await slots())[0]!;
		expect(first).toMatchObject({ id: moved.id, locked: true, endAt: at(7, 55) });
		expect(JSON.stringify(first.why)).toContain('Moved here by Ada from Mon 23 Nov 08:00');
		done(await perform(act, (deed) => planWeek(deed, WEEK)));
		expect(await starts()).toContain(at(7, 40));
	});

	it('is not moved where it clashes, and says why', async () => {
		expect(problemsOf(await move('14:50', await version()))).toEqual([
			'A-3 test 1 would run from 2026-11-23 14:50 to 2026-11-23 15:05, outside the hours of Drum roaster.'
		]);
		expect(problemsOf(await move('10:00', await version(), act, '2026-11-30'))[0]).toContain(
			'expected a day of 2026-W48'
		);
		expect(problemsOf(await move('25:00', await version()))[0]).toContain('expected a time');
		expect(await starts()).toEqual([at(7, 30), at(7, 45), at(8)]);
	});

	it('tells the second of two planners what changed meanwhile, and keeps the first one’s', async () => {
		const seen = await version();
		const jo = { ...act, actor: someone('roasting'), now: NOW + MINUTE };
		done(await move('10:00', seen, jo));
		const told = problemsOf(await move('11:00', seen));
		expect(told[0]).toMatch(/changed while you were looking: .* moved A-3 test 1 from .* 10:00/);
		expect((await starts())[2]).toBe(at(10));
		expect(problemsOf(await move('11:00', await version()))).toEqual([]);
	});

	it('is told of a lock and of planning anew too', async () => {
		const seen = await version();
		const slotId = (await slots())[0]!.id;
		done(await perform(act, (deed) => lockSlot(deed, { slotId, locked: true })));
		done(await perform(act, (deed) => planWeek(deed, WEEK)));
		expect(problemsOf(await move('11:00', seen))[0]).toMatch(/fixed a slot .*; .*planned it anew/);
	});

	it('is moved by those who plan alone', async () => {
		const viewer = { ...act, actor: someone('viewer') };
		expect(problemsOf(await move('10:00', await version(), viewer))[0]).toContain(
			'Your role is viewer'
		);
		expect((await starts())[2]).toBe(at(8));
	});
});

describe('taking the last act on a week back', () => {
	const undo = (seen: number, now = NOW + 2 * MINUTE) =>
		perform({ ...act, now }, (deed) => undoWeekChange(deed, WEEK, seen));

	it('puts slots, reasons and cost back as they were, one act after the other', async () => {
		const before = await slots();
		const { cost } = (await loadWeekPlan(db.database.orm, WEEK))!;
		done(await move('12:00', await version()));
		const once = await slots();
		const dearer = (await loadWeekPlan(db.database.orm, WEEK))!.cost;
		done(await move('13:00', await version()));
		const view = await loadWeekView(db.database.orm, NOW, WEEK);
		expect(view.plan!.undo).toMatch(/^moved A-3 test 1 from .* 12:00 .* to .* 13:00/);
		done(await undo(await version()));
		expect(await slots()).toEqual(once);
		expect((await loadWeekPlan(db.database.orm, WEEK))!.cost).toEqual(dearer);
		done(await undo(await version()));
		expect(await slots()).toEqual(before);
		expect((await loadWeekPlan(db.database.orm, WEEK))!.cost).toEqual(cost);
		expect(problemsOf(await undo(await version()))[0]).toContain('first plan of this week');
	});

	it('brings nothing back to a time that has passed, and no test that was withdrawn', async () => {
		done(await move('12:00', await version()));
		expect(problemsOf(await undo(await version(), at(9)))[0]).toContain('time that has passed');
		const testBatchId = (await slots())[1]!.testBatchId!;
		done(await perform(act, (deed) => withdrawTest(deed, { testBatchId })));
		done(await undo(await version()));
		expect(await starts()).toEqual([at(7, 30), at(8)]);
	});

	it('is refused where the plan is further on', async () => {
		const seen = await version();
		done(await move('12:00', seen));
		expect(problemsOf(await undo(seen))[0]).toContain('changed while you were looking');
	});
});

describe('copying the week before', () => {
	it('puts its batches at the same times, plans the rest around them, and says what is left', async () => {
		const lotId = await releasedLot(act, 'B-1', roasterId);
		await orderedFrom(act, lotId, [WEEK, '2026-W49']);
		done(await perform(act, (deed) => planWeek(deed, WEEK)));
		const slotId = (await slots()).find(({ kind }) => kind === 'production')!.id;
		const fields = { slotId, roaster: 'R15', day: '2026-11-25', time: '11:05' };
		const seen = await version();
		done(await perform(act, (deed) => moveSlotByHand(deed, WEEK, fields, seen)));
		const shown = await loadCopy(db.database.orm, NOW, '2026-W49');
		expect(shown).toMatchObject({ from: WEEK, version: 0 });
		expect(shown.copied).toBeGreaterThan(0);
		expect(shown.left).toContainEqual(expect.stringContaining('was a test'));
		done(await perform(act, (deed) => copyLastWeek(deed, '2026-W49', 0)));
		const copied = await loadSlots(db.database.orm, '2026-W49');
		expect(copied.map(({ startAt }) => startAt)).toContain(Date.UTC(2026, 11, 2, 11, 5));
		expect(copied.every(({ locked }) => !locked)).toBe(true);
		const again = await perform(act, (deed) => copyLastWeek(deed, '2026-W49', 0));
		expect(problemsOf(again)[0]).toContain('changed while you were looking');
	});
});

import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { WhatIf } from '#lib/domain/plan/whatIf.ts';
import type { Outcome } from '#lib/domain/quantity/problem.ts';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { keepWhatIf } from '#lib/server/commands/keepWhatIf.ts';
import { lockSlot, planWeek } from '#lib/server/commands/planWeek.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { undoWeekChange } from '#lib/server/commands/weekChanges.ts';
import { loadActsAfter } from '#lib/server/store/acts.ts';
import { loadDayHours } from '#lib/server/store/planning.ts';
import { loadDemand, loadSlots, loadWeekPlan } from '#lib/server/store/production.ts';
import { changeText, loadKnown, readChanges, typedChange } from '#lib/server/views/whatIf/ask.ts';
import { loadWhatIf } from '#lib/server/views/whatIf/page.ts';
import { whatIfFromMs, workOutWhatIf } from '#lib/server/views/whatIf/work.ts';
import { owner, someone } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { orderedFrom, releasedLot } from '#support/releasedLot.ts';
import { arrivedLot, done, lotInput, SETTINGS, setUpRoastery } from '#support/smallRoastery.ts';

/** A what-if worked out, kept, dropped and taken back (views/whatIf, commands/keepWhatIf.ts). */

/** Monday 23 November 2026, 06:00 in London; shifts are 07:00 to 15:00. */
const NOW = Date.UTC(2026, 10, 23, 6);
const WEEK = '2026-W48';
let db: TestDatabase;
let act: Act;
let roasterId: number;
let productId: number;
const at = (day: number, hour: number, minute = 0) => Date.UTC(2026, 10, day, hour, minute);
const slots = () => loadSlots(db.database.orm, WEEK);
const starts = async () => (await slots()).map(({ startAt }) => startAt).sort((a, b) => a - b);
const problemsOf = (outcome: Outcome<unknown>) =>
	outcome.ok ? [] : outcome.problems.map(({ message }) => message);
const stoppage = (fromMin: number, toMin: number): WhatIf => ({
	...{ kind: 'stoppage', roasterId, fromDay: '2026-11-23', fromMin, toDay: '2026-11-23', toMin }
});

beforeEach(async () => {
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Ada') };
	({ roasterId } = await setUpRoastery(act));
	const released = await releasedLot(act, 'B-1', roasterId);
	productId = await orderedFrom(act, released, [WEEK, '2026-W49']);
	const lotId = await arrivedLot(act, 'A-1');
	const test = { lotId, roasterId, plannedAt: NOW, purpose: 'first', change: 'none' };
	done(await perform(act, (deed) => planTest(deed, { ...test, settings: SETTINGS })));
	done(await perform(act, (deed) => planWeek(deed, WEEK)));
});
afterEach(() => db.remove());

const asked = (changes: readonly WhatIf[], searches = false) => ({
	...{ week: WEEK, changes, searches, fromMs: whatIfFromMs(NOW) }
});
async function workOut(changes: readonly WhatIf[], searches = false) {
	return done(await workOutWhatIf(db.database.orm, NOW, asked(changes, searches)))!;
}
async function keep(changes: readonly WhatIf[], by: Act = act) {
	const worked = await workOut(changes);
	const seen = { version: worked.version, digest: worked.digest };
	return perform(by, (deed) => keepWhatIf(deed, worked, ['a change'], seen));
}
async function everything() {
	const { orm } = db.database;
	return {
		slots: await slots(),
		plan: await loadWeekPlan(orm, WEEK),
		hours: await loadDayHours(orm),
		orders: await loadDemand(orm, WEEK)
	};
}
const value = (
	figures: readonly { readonly name: string; readonly parts: readonly { value: number }[] }[],
	name: string
) => figures.find((one) => one.name === name)!.parts.reduce((sum, part) => sum + part.value, 0);

describe('a what-if worked out', () => {
	it('leaves every record as it is', async () => {
		const before = await everything();
		await workOut([stoppage(0, 720)]);
		expect(await everything()).toEqual(before);
	});

	it('2: without a change has the same slots and every figure the same', async () => {
		for (const searches of [false, true]) {
			const { plan, before, after, control } = await workOut([], searches);
			expect(plan).toBe(null);
			expect(control).toBe(null);
			expect(after.slots).toEqual(before.slots);
			expect(after.figures).toEqual(before.figures);
			expect(after.money).toEqual(before.money);
			const chance = ({ lots }: typeof before.roastery) => lots.map(({ ready }) => ready);
			expect(chance(after.roastery)).toEqual(chance(before.roastery));
		}
	});

	it('a stopped roaster has no slot in that time, and what is lost in hours is said', async () => {
		// As planned: warm-up from 07:00, the test and two batches from 07:30 to 08:15.
		const { plan, before, after } = await workOut([stoppage(420, 720)]);
		expect(plan!.slots.map(({ startMs }) => startMs)).toEqual([
			...[at(23, 12, 30), at(23, 12, 45), at(23, 13)]
		]);
		expect(value(before.figures, 'staffedMin') - value(after.figures, 'staffedMin')).toBe(300);
		expect(value(after.figures, 'placedG')).toBe(value(before.figures, 'placedG'));
		// Five hours at 18.00 an hour.
		expect(value(before.money, 'staffedLabour') - value(after.money, 'staffedLabour')).toBe(9000);
	});

	it('money is that of the batches by their rates, in whole minor units', async () => {
		const { before } = await workOut([]);
		// Three batches: 10 min of labour at 18.00, 15 min of machine at 9.00; the test 50 min at 24.00.
		expect(value(before.money, 'labour')).toBe(900);
		// A quarter of 9.00 an hour is 2.25 a batch.
		expect(value(before.money, 'machine')).toBe(675);
		expect(value(before.money, 'quality')).toBe(2000);
		// Half an hour of warm-up: 9.00 of labour and 4.50 of machine.
		expect(value(before.money, 'setups')).toBe(1350);
		const kwh = before.slots.reduce((sum, { chargeG }) => sum + 4 + chargeG / 2000, 0);
		expect(Math.abs(value(before.money, 'energy') - kwh * 8)).toBeLessThanOrEqual(1.5);
		for (const { parts } of before.money)
			expect(parts.every((part) => Number.isSafeInteger(part.value))).toBe(true);
	});

	it('more orders ask for more green, through the weight loss of the lot', async () => {
		const more: WhatIf = { kind: 'orders', productId, percent: 50, addG: 0, weeks: 1 };
		const { before, after } = await workOut([more]);
		const green = (side: typeof before) =>
			value(side.figures, 'placedG') + value(side.figures, 'noRoomG');
		expect(green(after) / green(before)).toBeCloseTo(1.5, 3);
	});

	it('a later arrival moves no slot and changes the chance of that lot', async () => {
		const late = lotInput('C-1', { expectedOn: '2026-11-30', neededOn: '2026-12-21' });
		const { lotId } = done(await perform(act, (deed) => createLot(deed, late)));
		const arrival: WhatIf = { kind: 'arrival', lotId, day: '2026-12-14' };
		const { plan, before, after } = await workOut([arrival]);
		expect(plan).toBe(null);
		const chance = ({ roastery }: typeof before) =>
			roastery.lots.find(({ lot }) => lot.id === lotId)!.ready!.chanceInTime!;
		expect(chance(before)).toBeGreaterThan(chance(after));
		const page = await loadWhatIf(db.database.orm, NOW, act.actor, WEEK, {
			...{ texts: ['arrival 2026-12-14 C-1'], searches: false }
		});
		expect(page.result!.chances[0]).toMatchObject({ code: 'C-1', after: chance(after) });
		expect(page.result!.records[0]).toContain('14 days later than expected');
	});

	it('5: is the same each time, searched on from too, and never dearer then', async () => {
		const changes = [stoppage(420, 720)];
		const [one, other] = [await workOut(changes, true), await workOut(changes, true)];
		expect(one.digest).toBe(other.digest);
		const plain = await workOut(changes);
		expect(value(one.after.figures, 'worth')).toBeLessThanOrEqual(
			value(plain.after.figures, 'worth') + 1e-6
		);
	});

	it('an extra shift gives hours and moves no due date', async () => {
		const shift: WhatIf = {
			...{ kind: 'shift', roasterId, day: '2026-11-28', startMin: 420, endMin: 780 }
		};
		const { before, after } = await workOut([shift]);
		expect(value(after.figures, 'staffedMin') - value(before.figures, 'staffedMin')).toBe(360);
		const due = (side: typeof before) => side.made.problem.production.map(({ dueMs }) => dueMs);
		expect(due(after)).toEqual(due(before));
	});
});

describe('keeping it', () => {
	it('records the stoppage and plans the week around it, in one act that can be taken back', async () => {
		const before = await everything();
		done(await keep([stoppage(420, 720)]));
		expect(await starts()).toEqual([at(23, 12, 30), at(23, 12, 45), at(23, 13)]);
		expect(await loadDayHours(db.database.orm)).toMatchObject([
			{ kind: 'stoppage', roasterId, day: '2026-11-23', startMin: 420, endMin: 720 }
		]);
		const { version } = (await loadWeekPlan(db.database.orm, WEEK))!;
		expect(version).toBe(before.plan!.version + 1);
		done(await perform(act, (deed) => undoWeekChange(deed, WEEK, version)));
		expect(await slots()).toEqual(before.slots);
		// What was recorded are facts, and stay.
		expect(await loadDayHours(db.database.orm)).toHaveLength(1);
	});

	it('records orders and arrivals, each under its own name in the audit', async () => {
		const late = lotInput('C-1', { expectedOn: '2026-11-30' });
		const { lotId } = done(await perform(act, (deed) => createLot(deed, late)));
		const changes: WhatIf[] = [
			{ kind: 'orders', productId, percent: 50, addG: 0, weeks: 2 },
			{ kind: 'arrival', lotId, day: '2026-12-14' }
		];
		done(await keep(changes));
		const orders = await loadDemand(db.database.orm, WEEK);
		expect(orders.map(({ roastedG }) => roastedG)).toEqual([30_000, 30_000]);
		const acts = (await loadActsAfter(db.database.orm, NOW - 1))
			.slice(-4)
			.map(({ act: one }) => one);
		expect(acts).toEqual([
			...['save demand', 'save demand', 'change expected day', 'keep a what-if']
		]);
	});

	it('frees a fixed slot that can’t stay, and fixes it again when taken back', async () => {
		const slotId = (await slots())[0]!.id;
		done(await perform(act, (deed) => lockSlot(deed, { slotId, locked: true })));
		const before = await slots();
		const worked = await workOut([stoppage(420, 720)]);
		expect(worked.freed.map(({ id }) => id)).toEqual([slotId]);
		done(await keep([stoppage(420, 720)]));
		expect((await slots()).some(({ locked }) => locked)).toBe(false);
		const { version } = (await loadWeekPlan(db.database.orm, WEEK))!;
		done(await perform(act, (deed) => undoWeekChange(deed, WEEK, version)));
		expect(await slots()).toEqual(before);
	});

	it('1: the second of two planners is told, and nothing is written', async () => {
		const worked = await workOut([stoppage(420, 720)]);
		const seen = { version: worked.version, digest: worked.digest };
		done(await keep([stoppage(0, 540)], { ...act, actor: someone('roasting') }));
		const before = await everything();
		const told = await perform(act, (deed) => keepWhatIf(deed, worked, ['x'], seen));
		expect(problemsOf(told)[0]).toMatch(/changed while you were looking: .*kept a what-if/);
		expect(await everything()).toEqual(before);
	});

	it('1 and 2: is refused where another plan, or another problem, came of it meanwhile', async () => {
		const worked = await workOut([stoppage(420, 720)]);
		const { version, digest } = worked;
		const other = await perform(act, (deed) =>
			keepWhatIf(deed, worked, ['x'], { version, digest: 'another' })
		);
		expect(problemsOf(other)[0]).toContain('have changed since you looked');
		const lotId = await arrivedLot(act, 'A-9');
		const test = { lotId, roasterId, plannedAt: NOW, purpose: 'first', change: 'none' };
		done(await perform(act, (deed) => planTest(deed, { ...test, settings: SETTINGS })));
		const before = await everything();
		const told = await perform(act, (deed) => keepWhatIf(deed, worked, ['x'], { version, digest }));
		expect(problemsOf(told)[0]).toContain('have changed since you looked');
		expect(await everything()).toEqual(before);
	});

	it('is refused once its first start has passed', async () => {
		const worked = await workOut([stoppage(420, 720)]);
		const { version, digest } = worked;
		const later = { ...act, now: NOW + 3_600_000 };
		const told = await perform(later, (deed) =>
			keepWhatIf(deed, worked, ['x'], { version, digest })
		);
		expect(problemsOf(told)[0]).toContain('a time that has passed');
	});

	it('asks for the right to each thing that it records', async () => {
		const more: WhatIf = { kind: 'orders', productId, percent: 50, addG: 0, weeks: 1 };
		const roasting = { ...act, actor: someone('roasting') };
		const before = await everything();
		expect(problemsOf(await keep([more], roasting))[0]).toContain('save demand');
		expect(await everything()).toEqual(before);
		const page = await loadWhatIf(db.database.orm, NOW, roasting.actor, WEEK, {
			...{ texts: ['orders +50% +0kg 1w TWO'], searches: false }
		});
		expect(page.result!.cannotKeep).toContain('save demand');
	});
});

describe('what an address asks', () => {
	it('is read back as it was written', async () => {
		const known = await loadKnown(db.database.orm, NOW, WEEK);
		const changes: WhatIf[] = [
			{ kind: 'orders', productId: null, percent: -10, addG: 0, weeks: 4 },
			{ kind: 'orders', productId, percent: 0, addG: 12_500, weeks: 1 },
			stoppage(420, 725),
			{ kind: 'shift', roasterId, day: '2026-11-28', startMin: 420, endMin: 780 },
			{ kind: 'shift', roasterId: null, day: '2026-11-28', startMin: 420, endMin: 1440 }
		];
		const texts = changes.map((change) => changeText(change, known));
		expect(texts[1]).toBe('orders +0% +12.5kg 1w TWO');
		expect(readChanges(texts, known)).toEqual({ changes, problems: [] });
	});

	it('is told what was expected where it can’t be understood', async () => {
		const known = await loadKnown(db.database.orm, NOW, WEEK);
		const texts = [
			'orders lots',
			'stoppage a b R15',
			'arrival 2026-12-01 NONE',
			'shift x 7-8 R15',
			'y'
		];
		const { changes, problems } = readChanges(texts, known);
		expect(changes).toEqual([]);
		expect(new Set(problems.map(({ path }) => path))).toEqual(new Set(texts));
		const refused = (fields: Record<string, string>) => {
			const outcome = typedChange(fields, known);
			return outcome?.ok ? [] : outcome?.problems.map(({ path }) => path);
		};
		expect(refused({ add: 'orders', percent: '' })).toEqual(['percent']);
		expect(refused({ add: 'orders', kg: '5' })).toEqual(['product']);
		const stop = { add: 'stoppage', roaster: 'R15', from: '2026-11-24T08:00' };
		expect(refused({ ...stop, until: '2026-11-24T08:00' })).toEqual(['until']);
		expect(refused({ ...stop, until: '2026-11-24T09:00' })).toEqual([]);
		const day = { day: '2026-12-01', start: '07:00', end: '09:00' };
		expect(refused({ add: 'shift', of: 'R15', ...day })).toEqual(['day']);
		expect(typedChange({}, known)).toBe(null);
	});
});

import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { relaxedBound } from '#lib/domain/plan/bound.ts';
import { isLeast } from '#lib/domain/plan/objective.ts';
import { relaxedWeek } from '#lib/domain/plan/relaxed.ts';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { planWeek } from '#lib/server/commands/planWeek.ts';
import { keepFoundPlan, startPlanSearch, stopPlanSearch } from '#lib/server/commands/searchPlan.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { provenLeast } from '#lib/server/jobs/searchLeast.ts';
import { planSearching } from '#lib/server/jobs/planSearching.ts';
import { searchWeek, type Proof } from '#lib/server/jobs/searchWeek.ts';
import { loadPlanSearch } from '#lib/server/store/planning.ts';
import { loadSlots, loadWeekPlan } from '#lib/server/store/production.ts';
import { loadWeekView } from '#lib/server/views/week.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { arrivedLot, done, SETTINGS, setUpRoastery } from '#support/smallRoastery.ts';

/** The search for a better plan is started, looked at, stopped and kept (commands/searchPlan.ts). */

/** Monday 23 November 2026, 06:00 in London. */
const NOW = Date.UTC(2026, 10, 23, 6);
const WEEK = '2026-W48';
const MINUTE = 60_000;
let db: TestDatabase;
let act: Act;
const at = (minutes: number): Act => ({ ...act, now: NOW + minutes * MINUTE });

beforeEach(async () => {
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Ada') };
	const { roasterId } = await setUpRoastery(act);
	for (const code of ['A-1', 'A-2', 'A-3']) {
		const lotId = await arrivedLot(act, code);
		done(
			await perform(act, (deed) =>
				planTest(deed, {
					lotId,
					roasterId,
					plannedAt: NOW,
					purpose: 'first',
					change: 'none',
					settings: SETTINGS
				})
			)
		);
	}
});
afterEach(() => db.remove());

async function search(shouldStop?: () => boolean, prove?: () => Proof): Promise<void> {
	const clock = () => NOW + MINUTE;
	await searchWeek({
		...{ database: db.database, week: WEEK, clock, pauseMs: 0 },
		...(shouldStop ? { shouldStop } : {}),
		...(prove ? { prove } : {})
	});
}

describe('the search for a better plan', () => {
	it('is taken up by the next server when its own was killed, and not while another may be at it', async () => {
		done(await perform(act, (deed) => startPlanSearch(deed, WEEK)));
		const next = planSearching({ url: db.url });
		await next.resume(db.database, () => NOW + MINUTE / 2);
		await next.stop();
		expect(await loadPlanSearch(db.database.orm, WEEK)).toMatchObject({
			...{ steps: 0, finishedAt: null }
		});
		await next.resume(db.database, () => NOW + 2 * MINUTE);
		await next.stop();
		const search = (await loadPlanSearch(db.database.orm, WEEK))!;
		expect(search.steps).toBeGreaterThan(0);
		expect(search.finishedAt).not.toBeNull();
		expect(search.cost.total).toBeLessThanOrEqual(search.startCost);
		await next.resume(db.database, () => NOW + 4 * MINUTE);
		await next.stop();
		expect(await loadPlanSearch(db.database.orm, WEEK)).toEqual(search);
	});

	it('plans from a quarter of an hour ahead, and what it found becomes the plan', async () => {
		done(await perform(act, (deed) => startPlanSearch(deed, WEEK)));
		const started = (await loadPlanSearch(db.database.orm, WEEK))!;
		expect(started.problem.fromMs).toBe(NOW + 15 * MINUTE);
		expect(await loadSlots(db.database.orm, WEEK)).toEqual([]);
		let chunks = 0;
		await search(() => ++chunks === 3);
		const found = (await loadPlanSearch(db.database.orm, WEEK))!;
		expect(found).toMatchObject({ steps: 6000, seed: 1, failure: null });
		expect(found.finishedAt).not.toBe(null);
		expect(found.cost.total).toBeLessThanOrEqual(found.startCost);
		const view = await loadWeekView(db.database.orm, NOW + 2 * MINUTE, WEEK, true);
		expect(view.found).toMatchObject({ state: 'stopped', canKeep: true });
		expect(view.days.flatMap(({ roasters }) => roasters[0]!.slots)).toHaveLength(3);
		done(await perform(at(2), (deed) => keepFoundPlan(deed, WEEK, found.startedAt)));
		const slots = await loadSlots(db.database.orm, WEEK);
		expect(slots.map(({ startAt }) => startAt)).toEqual(
			found.plan.slots.map(({ startMs }) => startMs)
		);
		expect((await loadWeekPlan(db.database.orm, WEEK))!.cost).toEqual(found.cost);
		expect(await loadPlanSearch(db.database.orm, WEEK)).toBe(null);
	});

	it('is not kept once the records have changed, or its start has passed', async () => {
		done(await perform(act, (deed) => startPlanSearch(deed, WEEK)));
		const { startedAt } = (await loadPlanSearch(db.database.orm, WEEK))!;
		const late = await perform(at(20), (deed) => keepFoundPlan(deed, WEEK, startedAt));
		expect(late).toMatchObject({ ok: false, problems: [{ path: 'search' }] });
		await arrivedLot(at(1), 'A-4').then((lotId) =>
			perform(at(1), (deed) =>
				planTest(deed, {
					lotId,
					roasterId: 1,
					plannedAt: NOW,
					purpose: 'x',
					change: 'y',
					settings: SETTINGS
				})
			).then(done)
		);
		const changed = await perform(at(2), (deed) => keepFoundPlan(deed, WEEK, startedAt));
		expect(changed.ok ? '' : changed.problems[0]!.message).toMatch(/have changed/);
		const other = await perform(at(2), (deed) => keepFoundPlan(deed, WEEK, startedAt + 1));
		expect(other.ok ? '' : other.problems[0]!.message).toMatch(/not there any more/);
		expect(await loadSlots(db.database.orm, WEEK)).toEqual([]);
	});

	it('runs once at a time, stops when asked, and goes on with the next seed', async () => {
		done(await perform(act, (deed) => startPlanSearch(deed, WEEK)));
		const second = await perform(act, (deed) => startPlanSearch(deed, WEEK));
		expect(second.ok ? '' : second.problems[0]!.message).toMatch(/under way/);
		done(await perform(act, (deed) => stopPlanSearch(deed, WEEK)));
		await search();
		const stopped = (await loadPlanSearch(db.database.orm, WEEK))!;
		expect(stopped.steps).toBe(2000);
		done(await perform(at(3), (deed) => startPlanSearch(deed, WEEK)));
		expect((await loadPlanSearch(db.database.orm, WEEK))!.seed).toBe(2);
	});

	it('waits for the proof of a small week after its steps, and ends where its plan is proven best', async () => {
		done(await perform(act, (deed) => startPlanSearch(deed, WEEK)));
		const { problem, weights, bound, budget } = (await loadPlanSearch(db.database.orm, WEEK))!;
		expect(bound!.because).toMatch(/batches alone/);
		let isStopped = false;
		await search(undefined, () => ({
			bound: provenLeast(relaxedWeek(problem, weights), 1e6).then((least) => relaxedBound(least!)),
			stop: () => (isStopped = true)
		}));
		const found = (await loadPlanSearch(db.database.orm, WEEK))!;
		expect(found.bound!.because).toMatch(/order between two breaks/);
		expect(isLeast(found.cost.total, found.bound)).toBe(true);
		expect(found.steps).toBeLessThanOrEqual(budget);
		expect(isStopped).toBe(true);
		done(await perform(at(1), (deed) => startPlanSearch(deed, WEEK)));
		// A proof that finds nothing leaves the bound as it was.
		await search(undefined, () => ({ bound: Promise.resolve(null), stop: () => undefined }));
		const again = (await loadPlanSearch(db.database.orm, WEEK))!;
		expect(again.bound!.because).toMatch(/batches alone/);
		expect(again.finishedAt).not.toBe(null);
	});

	it('a roaster that runs is not asked to warm up again when the week is planned in the shift', async () => {
		done(await perform(act, (deed) => planWeek(deed, WEEK)));
		const [first] = await loadSlots(db.database.orm, WEEK);
		const during = { ...act, now: first!.endAt - 5 * MINUTE };
		done(await perform(during, (deed) => planWeek(deed, WEEK)));
		const setups = (await loadSlots(db.database.orm, WEEK)).map(({ why }) =>
			(why as { setup: { kind: string }[] }).setup.map(({ kind }) => kind)
		);
		expect(setups.flat().filter((kind) => kind === 'warm-up')).toHaveLength(1);
	});
});

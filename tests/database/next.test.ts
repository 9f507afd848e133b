import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import { perform } from '#lib/server/commands/act.ts';
import { giveVerdict } from '#lib/server/commands/giveVerdict.ts';
import { importTables } from '#lib/server/commands/importTables.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import type { Database } from '#lib/server/db/client.ts';
import { findLot } from '#lib/server/store/lots.ts';
import { loadRoasters } from '#lib/server/store/site.ts';
import { findTest, loadProposal } from '#lib/server/store/tests.ts';
import { loadNewTest, proposalNow } from '#lib/server/views/newTest.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { fewLots } from '#support/fewLots.ts';

/** What to roast next, on a few lots of the demo roastery: HR-147 is released, HR-158 has only a sample. */

const NOW = Date.UTC(2026, 10, 25, 10, 0);
/** Logs are read and drums fitted: a busy machine may take its time. */
vi.setConfig({ testTimeout: 120_000, hookTimeout: 300_000 });

let made: TestDatabase;
let database: Database;
const act = () => ({ database, now: NOW, actor: owner('Test') });

beforeAll(async () => {
	made = await newDatabase();
	database = made.database;
	const files = fewLots(['HR-147', 'HR-152', 'HR-154', 'HR-158']);
	expect(await importTables(act(), files)).toMatchObject({ ok: true });
});

afterAll(async () => {
	await made.remove();
});

const asked = async (lot: string, more: { reference?: string; use?: string } = {}) =>
	(await loadNewTest(database.orm, NOW, { lot, ...more })).lot!;

test('a first test is led along the similar lot that is released', async () => {
	const { next, use } = await asked('HR-158');
	const plan = next.plan!;
	expect(plan.reference.code).toBe('HR-147');
	expect(plan.isFirst).toBe(true);
	expect(plan.fit.batches[0]).toMatch(/^HR-147 test/);
	expect(plan.fit.rmsC).toBeLessThan(1.5);
	expect(plan.chart.timeS).toHaveLength(plan.chart.lowC.length);
	plan.chart.timeS.forEach((_, i) => {
		expect(plan.chart.lowC[i]!).toBeLessThan(plan.chart.highC[i]!);
	});
	for (const { proposedPct } of plan.rows) expect(proposedPct).toBeGreaterThanOrEqual(8);
	expect(plan.lacked.join()).toContain('Inlet and exhaust air of the sample roast');
	expect(next.noAdvice).toContain('There is no test yet');
	expect(use).toBeNull();
});

test('a proposal fills the form, is kept with the test, and says where it was edited', async () => {
	const { start, use } = await asked('HR-158', { use: 'heat demand' });
	expect(use).toBe('heat demand');
	expect(start.fields['purpose']).toBe('Follow the bean curve of HR-147');
	const lot = (await findLot(database.orm, 'HR-158'))!;
	const proposal = (await proposalNow(database.orm, lot, 'heat demand', 'HR-147'))!;
	expect(proposal.heat!.referenceLot).toBe('HR-147');
	const roaster = (await loadRoasters(database.orm)).find(
		({ code }) => code === start.fields['roaster']
	)!;
	const plan = (settings: typeof proposal.settings) =>
		perform(act(), (deed) =>
			planTest(deed, {
				...{ lotId: lot.id, roasterId: roaster.id, plannedAt: NOW, purpose: 'Follow', change: '' },
				...{ settings, proposal }
			})
		);
	const accepted = await plan(proposal.settings);
	if (!accepted.ok) throw new Error(accepted.problems[0]?.message);
	const kept = await loadProposal(database.orm, accepted.value.testBatchId);
	expect(kept).toMatchObject({ kind: 'heat demand', edited: false, by: 'Test', proposal });
	const edited = await plan({ ...proposal.settings, startC: proposal.settings.startC + 3 });
	if (!edited.ok) throw new Error(edited.problems[0]?.message);
	expect((await loadProposal(database.orm, edited.value.testBatchId))!.edited).toBe(true);
	expect((await asked('HR-158')).next.noAdvice).toContain('not roasted yet');
});

test('a lot without a sample roast falls back to a recipe and says why', async () => {
	const { next } = await asked('HR-154');
	expect(next.plan).toBeNull();
	expect(next.whyNot).toEqual(['HR-154 has no sample roast with a release curve.']);
	expect(
		await proposalNow(database.orm, (await findLot(database.orm, 'HR-154'))!, 'heat demand', '')
	).toBeUndefined();
});

test('one change is advised once the last test is to be adjusted', async () => {
	const last = (await findTest(database.orm, 'HR-152', 2))!;
	expect((await asked('HR-152')).next.noAdvice).toBe(
		'Test 2 has no verdict yet: cup it and judge it first.'
	);
	const judged = await perform(act(), (deed) =>
		giveVerdict(deed, {
			...{ testBatchId: last.batch.id, verdict: 'adjust', at: NOW },
			reason: 'Grassy and thin.'
		})
	);
	expect(judged).toMatchObject({ ok: true });
	const { next, start } = await asked('HR-152', { use: 'one change' });
	const advice = next.advice!;
	expect(advice.records[0]).toEqual({ label: 'HR-152 test 2', href: '/tests/HR-152/2' });
	expect(advice.change).not.toContain(';');
	expect(start.fields['purpose']).toBe('Try the one change that is advised');
});

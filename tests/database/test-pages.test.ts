import { afterAll, beforeAll, expect, test } from 'vitest';
import { perform } from '#lib/server/commands/act.ts';
import { importTables } from '#lib/server/commands/importTables.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { withdrawTest } from '#lib/server/commands/withdrawTest.ts';
import type { Database } from '#lib/server/db/client.ts';
import { findTest } from '#lib/server/store/tests.ts';
import { changesAgainstLast, loadNewTest } from '#lib/server/views/newTest.ts';
import { loadTestPage } from '#lib/server/views/test.ts';
import { loadTestsPage, type TestFilter } from '#lib/server/views/tests.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { fewLots } from '#support/fewLots.ts';

/** The pages of tests, on a few lots of the demo roastery. */

const NOW = Date.UTC(2026, 10, 25, 10, 0);
const ALL: TestFilter = {
	...{ q: '', state: '', verdict: '', roaster: '', month: '', sort: '' },
	page: 1
};

let made: TestDatabase;
let database: Database;

beforeAll(async () => {
	made = await newDatabase();
	database = made.database;
	const files = fewLots(['HR-149', 'HR-151', 'HR-152', 'HR-158']);
	const outcome = await importTables({ database, now: NOW, actor: owner('Test') }, files);
	expect(outcome).toMatchObject({ ok: true });
});

afterAll(async () => {
	await made.remove();
});

const pageOf = (filter: Partial<TestFilter> = {}) =>
	loadTestsPage(database.orm, NOW, { ...ALL, ...filter });

/** Plans a test like the last of a lot and gives what takes it back. */
async function planAgain(lotCode: string, like: number) {
	const last = (await findTest(database.orm, lotCode, like))!;
	const { lotId, roasterId, settings } = last.batch;
	const act = { database, now: NOW, actor: owner('Test') };
	const planned = await perform(act, (deed) =>
		planTest(deed, {
			...{ lotId, roasterId, settings },
			plannedAt: NOW,
			purpose: 'Do it again',
			change: ''
		})
	);
	if (!planned.ok) throw new Error(JSON.stringify(planned.problems));
	const { testBatchId, number } = planned.value;
	const takeBack = () => perform(act, (deed) => withdrawTest(deed, { testBatchId }));
	return { number, takeBack };
}

test('a test waits for the one before it, or for its verdict', async () => {
	const [after3, after2] = [await planAgain('HR-151', 3), await planAgain('HR-152', 2)];
	const { queue } = await pageOf();
	expect(queue.map((row) => [row.lotCode, row.number, row.waitsFor])).toEqual([
		['HR-151', 3, null],
		['HR-151', after3.number, 'test 3'],
		['HR-152', after2.number, 'verdict on test 2']
	]);
	await after3.takeBack();
	await after2.takeBack();
	expect((await pageOf()).queue).toHaveLength(1);
});

test('what is cupped and has no verdict is to be judged', async () => {
	const { review } = await pageOf();
	expect(review).toHaveLength(1);
	expect(review[0]).toMatchObject({
		...{ lotCode: 'HR-152', number: 2, todo: 'give a verdict', daysSinceRoast: 13 },
		roasted: { day: '2026-11-12', clock: '13:30' }
	});
});

test('a lot with a sample and no test is to be planned, one with a waiting test is not', async () => {
	const { unplanned } = await pageOf();
	expect(unplanned.map(({ lotCode, stage }) => [lotCode, stage])).toEqual([
		['HR-158', 'sample roasted']
	]);
});

test('the list is narrowed by each part of its address', async () => {
	const keys = async (filter: Partial<TestFilter>) =>
		(await pageOf(filter)).list.rows.map((row) => `${row.lotCode}/${row.number}`);
	expect(await keys({ state: 'waiting' })).toEqual(['HR-151/3']);
	expect(await keys({ state: 'cupped' })).toEqual(['HR-152/2']);
	expect(await keys({ q: 'hr-149', verdict: 'approve' })).toEqual(['HR-149/2']);
	expect(await keys({ month: '2026-09' })).toEqual(['HR-149/2']);
	expect(await keys({ roaster: 'D60' })).toEqual([]);
	expect(await keys({ roaster: 'nowhere' })).toEqual([]);
	expect(await keys({ q: '151', sort: 'lot' })).toEqual(['HR-151/1', 'HR-151/2', 'HR-151/3']);
	expect(await keys({ q: '151', sort: '-loss' })).toHaveLength(3);
	expect((await keys({ q: '151', sort: '-loss' })).at(-1)).toBe('HR-151/3');
	expect((await pageOf({ page: 99 })).list.page).toBe(1);
});

test('a test says what changed by its records, only where it differs', async () => {
	const page = (await loadTestPage(database.orm, NOW, 'HR-151', 2))!;
	expect(page.before?.changes).toEqual(['Gas 7:50 80 to 69 %, 9:20 72 to 61 %']);
	expect(page.settings.filter((line) => line.difference).map((line) => line.term)).toEqual(['Gas']);
	expect((await loadTestPage(database.orm, NOW, 'HR-151', 1))!.before).toBeNull();
});

test('a test shows its log, its cupping and a cost that is the sum of its lines', async () => {
	const page = (await loadTestPage(database.orm, NOW, 'HR-151', 2))!;
	expect(page.state).toBe('judged');
	expect(page.drum?.reading?.marks.firstCrack?.from).toBe('marked');
	expect(page.drum?.series?.timeS.length).toBe(page.drum?.series?.beanC.length);
	expect(page.cuppings.map((one) => one.form)).toEqual(['2024']);
	const { lines, cost, recovered, net } = page.cost!;
	expect(lines.reduce((sum, line) => sum + line.money.minor, 0)).toBe(cost.minor);
	expect(net.minor).toBe(cost.minor - recovered.minor);
	const accountedG = page.recoveries.reduce((sum, one) => sum + one.massG, 0);
	expect(page.unaccountedG).toBe(page.roast!.outG - accountedG);
});

test('a waiting test has no cost and says so; one that is not there is nothing', async () => {
	const page = (await loadTestPage(database.orm, NOW, 'HR-151', 3))!;
	expect(page).toMatchObject({ state: 'waiting', cost: null, roast: null, drum: null });
	expect(page.uncosted).toBe('A test costs nothing before it is roasted.');
	expect(await loadTestPage(database.orm, NOW, 'HR-151', 99)).toBeNull();
	expect(await loadTestPage(database.orm, NOW, 'nowhere', 1)).toBeNull();
});

test('the next test starts from the last, a first one from the recipe of the lot it replaces', async () => {
	const next = (await loadNewTest(database.orm, NOW, { lot: 'HR-151' })).lot!;
	expect(next.start.from).toContain('test 3');
	expect(next.start.fields).toMatchObject({ roaster: 'D15', charge_kg: '10', soak_s: '45' });
	expect(next.start.fields['gas_steps']).toMatch(/^0:00 81; 2:00 48; .*; 9:20 43$/);
	const first = (await loadNewTest(database.orm, NOW, { lot: 'HR-158' })).lot!;
	expect(first.start.from).toContain('recipe 1 of HR-149');
	expect(first.last).toBeNull();
	expect((await loadNewTest(database.orm, NOW, { lot: 'HR-149' })).lot).toBeNull();
});

test('every setting that differs from the last test is told before it is planned', async () => {
	const { lotId, settings } = (await findTest(database.orm, 'HR-151', 3))!.batch;
	const plan = { roasterName: 'Another', settings: { ...settings, soakS: settings.soakS + 5 } };
	const against = await changesAgainstLast(database.orm, lotId, plan);
	expect(against?.number).toBe(3);
	expect(against?.changes).toHaveLength(2);
	expect(against?.changes[1]).toBe('Soak 45 to 50 s');
});

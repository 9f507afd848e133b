import { afterAll, beforeAll, describe, expect, it, test } from 'vitest';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { importTables } from '#lib/server/commands/importTables.ts';
import { findLot, loadAudit, loadOnHandG } from '#lib/server/store/lots.ts';
import { requireSite } from '#lib/server/store/site.ts';
import { loadLotPage } from '#lib/server/views/lot.ts';
import {
	codeAfter,
	loadLotsPage,
	loadNewLotPage,
	type LotsFilter
} from '#lib/server/views/lots.ts';
import { loadOverview } from '#lib/server/views/overview.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { fewLots } from '#support/fewLots.ts';
import { arrivedLot, done, lotInput, setUpRoastery } from '#support/smallRoastery.ts';
import { ACTS, type LotAct } from '../../src/routes/lots/[code]/acts.server.ts';

/** The pages of lots and the overview, on a few lots of the demo roastery and on an empty one. */

const NOW = Date.UTC(2026, 10, 25, 10, 0);
const ALL: LotsFilter = { q: '', stage: '', kind: '', releasedFrom: '', sort: null, page: 1 };

describe('on a few lots of the demo', () => {
	let db: TestDatabase;

	beforeAll(async () => {
		db = await newDatabase();
		const files = fewLots(['HR-149', 'HR-151', 'HR-152', 'HR-158']);
		done(await importTables({ database: db.database, now: NOW, actor: owner('Test') }, files));
	});
	afterAll(() => db.remove());

	const list = (filter: Partial<LotsFilter> = {}) =>
		loadLotsPage(db.database.orm, NOW, { ...ALL, ...filter });
	const codes = async (filter: Partial<LotsFilter>) =>
		(await list(filter)).rows.map(({ code }) => code);
	const page = async (code: string) =>
		(await loadLotPage(db.database.orm, NOW, code, { wholeLedger: true }))!;

	it('narrows and sorts the list by each part of its address', async () => {
		const sort = { key: 'code', descending: false };
		expect(await codes({ stage: 'open', sort })).toEqual(['HR-151', 'HR-152', 'HR-158']);
		expect(await codes({ stage: 'released' })).toEqual(['HR-149']);
		expect(await codes({ kind: 'anaerobic' })).toEqual(['HR-152']);
		expect(await codes({ q: 'yemen bayt' })).toEqual(['HR-151']);
		expect(await codes({ q: 'BÁYT' })).toEqual(['HR-151']);
		expect(await codes({ releasedFrom: '2026-01-01' })).toEqual(['HR-149']);
		expect(await codes({ releasedFrom: '2026-11-25' })).toEqual([]);
		expect(await codes({ sort: { key: 'tests', descending: true } })).toEqual([
			...['HR-149', 'HR-151', 'HR-152', 'HR-158']
		]);
		const { found, all, stages } = await list({ stage: 'released', page: 99 });
		expect([found, all]).toEqual([1, 4]);
		expect(stages.find(({ stage }) => stage === 'open')?.count).toBe(3);
	});

	it('puts what needs no release after what does', async () => {
		expect((await codes({})).at(-1)).toBe('HR-149');
	});

	it('leads to where the next step is done', async () => {
		const { rows } = await list({ sort: { key: 'code', descending: false } });
		expect(rows.map(({ next }) => next?.href ?? null)).toEqual([
			null,
			'/tests/HR-151/3',
			'/tests/HR-152/2',
			'/tests/new?lot=HR-158'
		]);
	});

	it('explains every gram, and the ledger ends at what is on hand', async () => {
		const { stock } = await page('HR-149');
		const { receivedG, onHandG, countDifferenceG, ...out } = stock.balance;
		const gone = Object.values(out).reduce((sum, massG) => sum + massG, 0);
		expect(receivedG + countDifferenceG).toBe(gone + onHandG);
		expect(stock.ledger[0]?.onHandG).toBe(onHandG);
		expect(stock.ledger.at(-1)).toMatchObject({ kind: 'received', massG: receivedG });
		const short = await loadLotPage(db.database.orm, NOW, 'HR-149', { wholeLedger: false });
		expect(short!.stock.ledger).toEqual(stock.ledger.slice(0, 20));
	});

	it('tells what happened in its order, with the records', async () => {
		const { story, currentStep, steps } = await page('HR-151');
		const when = story.map(({ day, clock }) => `${day} ${clock}`);
		expect(when).toEqual(when.toSorted());
		const titles = story.map(({ title }) => title);
		expect(titles.filter((title) => title.startsWith('Test')).slice(-5)).toEqual([
			...['Test 1 roasted', 'Test 1: adjust', 'Test 2 roasted', 'Test 2: adjust', 'Test 3 planned']
		]);
		expect(titles.filter((title) => title === 'Sample roasted, arrival')).toHaveLength(3);
		expect(steps[currentStep]?.label).toBe('in test');
	});

	it('sets what really changed beside what was declared, and the net cost of the test', async () => {
		const { tests, cost } = await page('HR-151');
		expect(tests.map(({ changed }) => changed)).toEqual([
			null,
			['Gas 7:50 80 to 69 %, 9:20 72 to 61 %'],
			expect.arrayContaining([expect.stringMatching(/^Gas /)])
		]);
		expect(tests[2]).toMatchObject({ state: 'waiting', net: null, roasted: null });
		const nets = tests.flatMap(({ net }) => (net ? [net.minor] : []));
		expect(nets).toHaveLength(2);
		expect(cost.total.net.minor).toBe(nets[0]! + nets[1]!);
	});

	it('draws the sample of the arrived coffee and offers the acts that the stage allows', async () => {
		const open = await page('HR-151');
		expect(open.samples.samples.find(({ id }) => id === open.samples.drawn?.id)?.stage).toBe(
			'arrival'
		);
		expect(open.forms).toMatchObject({ release: null, reopen: null, reject: {} });
		expect((await page('HR-149')).forms).toMatchObject({ release: null, reject: null, reopen: {} });
	});

	it('knows no lot that is not there', async () => {
		const options = { wholeLedger: false };
		expect(await loadLotPage(db.database.orm, NOW, 'HR-999', options)).toBeNull();
	});

	it('answers the three questions from the same records as the lists', async () => {
		const overview = await loadOverview(db.database.orm, NOW);
		expect(overview.firstSteps).toEqual([]);
		expect(overview.toRelease).toEqual((await list({ stage: 'open' })).rows);
		expect(overview.queue.map(({ lotCode, number }) => [lotCode, number])).toEqual([['HR-151', 3]]);
		expect(overview.unplanned.map(({ lotCode }) => lotCode)).toEqual(['HR-158']);
		const byMonth = overview.cost.lines.reduce((sum, line) => sum + line.net.minor, 0);
		expect(byMonth).toBe(overview.cost.total.net.minor);
		expect(overview.cost.lines).toHaveLength(12);
		expect(overview.runningOut.map(({ code }) => code)).toEqual(['HR-149']);
	});
});

describe('on a roastery that begins', () => {
	let db: TestDatabase;
	let act: Act;

	beforeAll(async () => {
		db = await newDatabase();
		act = { database: db.database, now: NOW, actor: owner('Ada') };
		await setUpRoastery(act);
	});
	afterAll(() => db.remove());

	/** What the page of a lot does with a form. */
	async function post(code: string, name: LotAct, fields: Record<string, string>) {
		const lot = (await findLot(db.database.orm, code))!;
		const site = await requireSite(db.database.orm);
		const outcome = await perform(act, (deed) => ACTS[name]({ deed, lot, site, fields }));
		return outcome.ok ? [] : outcome.problems.map(({ path }) => path);
	}

	it('says the first steps while there is no lot', async () => {
		const { firstSteps, toRelease } = await loadOverview(db.database.orm, NOW);
		expect(firstSteps.map(({ done: isDone }) => isDone)).toEqual([true, true, true, false]);
		expect(toRelease).toEqual([]);
	});

	it('takes masses without a sign, and a count as all that is there', async () => {
		const lotId = await arrivedLot(act, 'A-1');
		const onHand = () => loadOnHandG(db.database.orm, lotId);
		const at = '2026-11-25T09:00';
		const sold = { at, kind: 'sold green', mass_kg: '20', reason: 'To a neighbour' };
		expect(await post('A-1', 'movement', sold)).toEqual([]);
		expect(await onHand()).toBe(100_000);
		const counted = { at, kind: 'count difference', mass_kg: '99.5', reason: '' };
		expect(await post('A-1', 'movement', counted)).toEqual([]);
		expect(await onHand()).toBe(99_500);
		expect(await post('A-1', 'movement', counted)).toEqual(['mass_kg']);
		expect(await post('A-1', 'movement', { ...sold, mass_kg: '200' })).toEqual(['mass_kg']);
		expect(await post('A-1', 'movement', { ...sold, reason: '' })).toEqual(['reason']);
		expect(await post('A-1', 'movement', { ...sold, mass_kg: '-5' })).toEqual([]);
		expect(await onHand()).toBe(94_500);
		const acts = await loadAudit(db.database.orm, lotId);
		expect(acts[0]).toMatchObject({ act: 'record sold green', by: 'Ada' });
	});

	it('refuses what is still to come and what the stage does not allow, at its field', async () => {
		const later = { at: '2026-11-25T10:01', reason: 'Mould' };
		expect(await post('A-1', 'reject', later)).toEqual(['at']);
		expect(await post('A-1', 'reject', { at: '2026-11-25T10:00', reason: '' })).toEqual(['reason']);
		expect(await post('A-1', 'reopen', { ...later, at: '2026-11-25T10:00' })).toEqual(['lot']);
		expect(await post('A-1', 'measurement', { stage: 'arrival', at: later.at })).toEqual(['at']);
	});

	it('suggests the next code, and links the lot that another takes over from', async () => {
		done(await perform(act, (deed) => createLot(deed, lotInput('A-2', { replaces: 'A-1' }))));
		const options = { wholeLedger: false };
		const [old, next] = await Promise.all(
			['A-1', 'A-2'].map((code) => loadLotPage(db.database.orm, NOW, code, options))
		);
		expect(old!.forecast.replacedBy).toMatchObject([{ href: '/lots/A-2', stage: 'expected' }]);
		expect(next!.forecast.replaces).toMatchObject({ href: '/lots/A-1' });
		expect((await loadNewLotPage(db.database.orm)).defaults['code']).toBe('A-3');
	});
});

test('the next code follows the series that most codes belong to', () => {
	expect(codeAfter(['HR-099', 'X1', 'HR-100', 'HR-7'])).toBe('HR-101');
	expect(codeAfter(['HR-099'])).toBe('HR-100');
	expect(codeAfter(['Lot A', 'Lot B'])).toBe('');
	expect(codeAfter([])).toBe('');
});

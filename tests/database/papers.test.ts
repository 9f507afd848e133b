import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { formatMoney, formatPriceE4 } from '#lib/domain/quantity/money.ts';
import { perform } from '#lib/server/commands/act.ts';
import { importTables } from '#lib/server/commands/importTables.ts';
import { lockSlot, planWeek } from '#lib/server/commands/planWeek.ts';
import { saveWeekOrders } from '#lib/server/commands/saveWeekOrders.ts';
import type { Database } from '#lib/server/db/client.ts';
import { lotDossier } from '#lib/server/documents/lotDossier.ts';
import { pdfBytes } from '#lib/server/documents/pdf.ts';
import { weekSheet } from '#lib/server/documents/weekSheet.ts';
import { loadLots } from '#lib/server/store/lots.ts';
import { loadEverySlot } from '#lib/server/store/production.ts';
import { requireSite } from '#lib/server/store/site.ts';
import { CUTS, loadCostedTests, loadStatement, NO_FILTER } from '#lib/server/views/cost.ts';
import { loadCosting } from '#lib/server/views/costing.ts';
import { loadDossier } from '#lib/server/views/dossier.ts';
import { loadWeekToOpen, loadWeekView } from '#lib/server/views/week.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { fewLots } from '../support/fewLots.ts';
import { pdfPages } from '../support/pdfText.ts';

/** The week, the statement and the papers on a few lots of the demo, at a moment of its own time. */

// Wednesday, 10:02 in London.
const NOW = Date.UTC(2026, 10, 25, 10, 2);
const WEEK = '2026-W48';
const MINUTE = 60_000;
let made: TestDatabase;
let database: Database;

const at = (minutes: number) => ({ database, now: NOW + minutes * MINUTE, actor: owner('Test') });
const slotsOf = async (minutes = 0) =>
	(await loadWeekView(database.orm, NOW + minutes * MINUTE, WEEK)).days.flatMap((day) =>
		day.roasters.flatMap(({ slots }) => slots)
	);

beforeAll(async () => {
	made = await newDatabase();
	database = made.database;
	// SUNBED is made of HR-148, LOWLIGHT of HR-141; HR-151 waits for a test, HR-161 has none.
	const files = fewLots(['HR-141', 'HR-148', 'HR-151', 'HR-161']);
	const outcome = await importTables({ database, now: NOW, actor: owner('Test') }, files);
	expect(outcome).toMatchObject({ ok: true });
	expect(await perform(at(0), (deed) => planWeek(deed, WEEK))).toMatchObject({ ok: true });
}, 300_000);

afterAll(async () => {
	await made.remove();
});

describe('the week', () => {
	test('starts on a round time, from the next five minutes on', async () => {
		const slots = await slotsOf();
		expect(slots.length).toBeGreaterThan(2);
		const wednesday = slots.filter(({ day }) => day === '2026-11-25');
		const first = Math.min(
			...wednesday.map((slot) => slot.fromMin - slot.setup.reduce((sum, s) => sum + s.minutes, 0))
		);
		expect(first).toBe(10 * 60 + 5);
	});

	test('production and tests have slots with reasons, what is short is said with what would do', async () => {
		const slots = await slotsOf();
		expect(new Set(slots.map(({ kind }) => kind))).toEqual(new Set(['production', 'test']));
		for (const slot of slots) expect(slot.reasons[0]).toMatch(/^Due /);
		const { plan } = await loadWeekView(database.orm, NOW, WEEK);
		const short = plan!.unplaced.find(({ lotCode }) => lotCode === 'HR-141');
		expect(short?.reasons[0]).toMatch(/of HR-141 are needed and .* kg are left/);
		expect(short?.change).toMatch(/less green or another lot in the blend would do/);
	});

	test('says when records have changed since the planning, and not for acts that leave it as it is', async () => {
		const before = await loadWeekView(database.orm, NOW + MINUTE, WEEK);
		expect(before.plan).toMatchObject({ changes: 0, lastChange: null });
		const [order] = before.orders.filter(({ roastedG }) => roastedG > 0);
		const changed = await perform(at(2), (deed) =>
			saveWeekOrders(deed, WEEK, [
				{
					product: order!.productCode,
					seenG: order!.roastedG,
					roastedG: order!.roastedG + 1000
				}
			])
		);
		expect(changed).toEqual({ ok: true, value: { changed: 1 } });
		const after = await loadWeekView(database.orm, NOW + 3 * MINUTE, WEEK);
		expect(after.plan).toMatchObject({ changes: 1 });
		expect(after.plan!.lastChange).toBe('save demand by Test, Wed 25 Nov 10:04');
	});

	test('the second writer of an order is told, and nothing is saved', async () => {
		const { orders } = await loadWeekView(database.orm, NOW, WEEK);
		const [first, second] = orders.filter(({ roastedG }) => roastedG > 0);
		const outcome = await perform(at(2), (deed) =>
			saveWeekOrders(deed, WEEK, [
				{ product: second!.productCode, seenG: second!.roastedG, roastedG: 1 },
				{ product: first!.productCode, seenG: first!.roastedG + 5, roastedG: 2 }
			])
		);
		expect(outcome).toMatchObject({ ok: false, problems: [{ path: first!.productCode }] });
		const after = await loadWeekView(database.orm, NOW, WEEK);
		expect(after.orders).toEqual(orders);
	});

	test('planning anew keeps what is over, under way or fixed', async () => {
		const before = await slotsOf();
		const fixed = before.at(-1)!;
		await perform(at(60), (deed) => lockSlot(deed, { slotId: fixed.id, locked: true }));
		// Into the middle of the first slot.
		const first = before.toSorted((a, b) => a.fromMin - b.fromMin)[0]!;
		const into = first.fromMin + 7 - (10 * 60 + 2);
		const outcome = await perform(at(into), (deed) => planWeek(deed, WEEK));
		expect(outcome).toMatchObject({ ok: true });
		const after = await slotsOf(into);
		expect(after.map(({ id }) => id)).toEqual(expect.arrayContaining([first.id, fixed.id]));
		expect(after.find(({ id }) => id === fixed.id)).toMatchObject({ locked: true });
		const sameRoaster = after.filter(
			(slot) => slot.roasterId === first.roasterId && slot.day === first.day && slot.id !== first.id
		);
		for (const slot of sameRoaster) expect(slot.fromMin).toBeGreaterThanOrEqual(first.toMin);
	});

	test('a test has one slot among all weeks, the earlier week first; green is promised once', async () => {
		const next = '2026-W49';
		const onHandG = 22_650;
		const testsOf = async (week: string) =>
			(await loadEverySlot(database.orm)).flatMap((slot) =>
				slot.week === week && slot.testBatchId !== null ? [slot.testBatchId] : []
			);
		const inFirst = await testsOf(WEEK);
		expect(inFirst.length).toBeGreaterThan(0);
		expect(await perform(at(0), (deed) => planWeek(deed, next))).toMatchObject({ ok: true });
		expect((await testsOf(next)).filter((id) => inFirst.includes(id))).toEqual([]);
		const lots = await loadLots(database.orm);
		const decaf = lots.find(({ code }) => code === 'HR-141')!.id;
		const promisedG = (await loadEverySlot(database.orm))
			.filter((slot) => slot.lotId === decaf && slot.endAt > NOW)
			.reduce((sum, slot) => sum + slot.chargeG, 0);
		expect(promisedG).toBeLessThanOrEqual(onHandG);

		const saturday = Date.UTC(2026, 10, 28, 9, 0);
		const late = { ...at(0), now: saturday };
		expect(await perform(late, (deed) => planWeek(deed, '2026-W50'))).toMatchObject({ ok: true });
		expect(await testsOf('2026-W50')).toEqual(inFirst);
		expect(await perform(late, (deed) => planWeek(deed, next))).toMatchObject({ ok: true });
		expect(await testsOf(next)).toEqual(inFirst);
		expect(await testsOf('2026-W50')).toEqual([]);
	});

	test('a week that is over is not planned; on its weekend the next one opens', async () => {
		const outcome = await perform(at(0), (deed) => planWeek(deed, '2026-W47'));
		expect(outcome).toMatchObject({ ok: false, problems: [{ path: 'week' }] });
		expect(await loadWeekToOpen(database.orm, NOW)).toBe(WEEK);
		const saturday = Date.UTC(2026, 10, 28, 9, 0);
		expect(await loadWeekToOpen(database.orm, saturday)).toBe('2026-W49');
	});
});

describe('the statement', () => {
	test('every cut adds up to the same, line by line and to the penny', async () => {
		for (const period of [null, 'all', '2026']) {
			const statements = await Promise.all(
				CUTS.map((cut) => loadStatement(database.orm, NOW, { cut, filter: NO_FILTER, period }))
			);
			expect(statements[0]!.total.tests).toBeGreaterThan(3);
			for (const { lines, total } of statements) {
				expect(total).toEqual(statements[0]!.total);
				for (const sum of ['cost', 'recovered', 'net'] as const)
					expect(lines.reduce((minor, line) => minor + line[sum].minor, 0)).toBe(total[sum].minor);
				expect(total.cost.minor - total.recovered.minor).toBe(total.net.minor);
			}
		}
	});

	test('the tests behind a row add up to the row', async () => {
		for (const cut of CUTS) {
			const { lines } = await loadStatement(database.orm, NOW, {
				...{ cut, filter: NO_FILTER, period: 'all' }
			});
			for (const line of lines) {
				const filter = { ...NO_FILTER, [cut]: line.key };
				const question = { cut, filter, period: 'all' };
				const { tests, total } = await loadCostedTests(database.orm, NOW, question);
				expect(total.net).toEqual(line.net);
				expect(tests.reduce((minor, test) => minor + test.net.minor, 0)).toBe(line.net.minor);
			}
		}
	});

	test('released lots count with all their tests', async () => {
		const { released } = await loadStatement(database.orm, NOW, {
			...{ cut: 'month', filter: NO_FILTER, period: 'all' }
		});
		expect(released.codes).toEqual(['HR-141', 'HR-148']);
		expect(released.testsPerLot).toBe(released.tests / 2);
		expect(released.netPerLot!.minor).toBe(Math.floor(released.net.minor / 2 + 0.5));
	});
});

describe('papers, read back', () => {
	test('the dossier has the figures of the lot', async () => {
		const site = await requireSite(database.orm);
		const dossier = (await loadDossier(database.orm, NOW, 'HR-141'))!;
		const { landed, tests } = await loadCosting(database.orm, site);
		const own = tests.filter(({ lotCode }) => lotCode === 'HR-141');
		const text = (await pdfPages(await pdfBytes(lotDossier(dossier)))).join(' ');
		const lotCost = landed.get(own[0]!.lotId)!;
		expect(text).toContain('HR-141 Agua Lenta decaf 2026');
		expect(text).toContain(formatPriceE4(lotCost.perKgE4, 'GBP', { symbol: true }));
		expect(text).toContain(formatMoney(lotCost.total, { symbol: true }));
		for (const test of own) expect(text).toContain(formatMoney(test.net, { symbol: true }));
		const { reading } = dossier.lot.samples.samples.at(-1)!;
		const peakS = Math.round(reading!.crack.peakS!);
		expect(text).toContain(`${Math.floor(peakS / 60)}:${String(peakS % 60).padStart(2, '0')}`);
		expect(text).toContain(`${(reading!.weightLoss! * 100).toFixed(1)} %`);
		expect(text).toContain('22.65');
		expect(text).toContain('Recipe, version 1');
	});

	test('a lot without tests has a dossier too; an unknown one has none', async () => {
		const bare = (await loadDossier(database.orm, NOW, 'HR-161'))!;
		const text = (await pdfPages(await pdfBytes(lotDossier(bare)))).join(' ');
		expect(text).toContain('No test is planned yet.');
		expect(text).toContain('Plan test 1');
		expect(await loadDossier(database.orm, NOW, 'HR-999')).toBeNull();
	});

	test('the week sheet has every slot with its start and lot, and what did not fit', async () => {
		const view = await loadWeekView(database.orm, NOW, WEEK);
		const text = (await pdfPages(await pdfBytes(weekSheet(view)))).join(' ');
		for (const slot of await slotsOf()) {
			const start = `${String(Math.floor(slot.fromMin / 60)).padStart(2, '0')}:${String(slot.fromMin % 60).padStart(2, '0')}`;
			expect(text).toContain(start);
			expect(text).toContain(`${slot.lotCode} ${slot.lotName}`);
			if (slot.kind === 'test') expect(text).toContain(`TEST ${slot.testNumber}`);
		}
		for (const { reasons } of view.plan!.unplaced) expect(text).toContain(reasons[0]);
	});

	test('a week that was never planned says so', async () => {
		const view = await loadWeekView(database.orm, NOW, '2026-W52');
		const text = (await pdfPages(await pdfBytes(weekSheet(view)))).join(' ');
		expect(text).toContain('This week is not planned.');
	});
});

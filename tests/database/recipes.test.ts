import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { eq } from 'drizzle-orm';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { addIntakeFile } from '#lib/server/commands/addIntakeFile.ts';
import { addProductionLog, addTestLog } from '#lib/server/commands/addLog.ts';
import { commitIntake } from '#lib/server/commands/commitIntake.ts';
import { describeIntakeFiles } from '#lib/server/commands/describeIntakeFiles.ts';
import { importTables } from '#lib/server/commands/importTables.ts';
import { openIntake } from '#lib/server/commands/openIntake.ts';
import { recordColour } from '#lib/server/commands/recordColour.ts';
import { reviseRecipe } from '#lib/server/commands/recipes.ts';
import { saveDrumSettings } from '#lib/server/commands/saveDrumSettings.ts';
import type { Database } from '#lib/server/db/client.ts';
import { audit, testRoast } from '#lib/server/db/schema.ts';
import { loadBatches } from '#lib/server/store/batches.ts';
import { loadIntakeFiles } from '#lib/server/store/intake.ts';
import { findLot, loadOnHandG } from '#lib/server/store/lots.ts';
import { findTest, loadRecipes } from '#lib/server/store/tests.ts';
import { loadBatchPage } from '#lib/server/views/batch.ts';
import { loadDrumSettingsPage } from '#lib/server/views/drumSettings.ts';
import { loadIntakePage } from '#lib/server/views/intake.ts';
import { loadLotTests } from '#lib/server/views/lotTests.ts';
import { momentOf } from '#lib/server/views/moment.ts';
import { loadRecipePage } from '#lib/server/views/recipe.ts';
import { loadTestPage } from '#lib/server/views/test.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { fewLots } from '#support/fewLots.ts';
import { demoLog, done } from '#support/smallRoastery.ts';

/** Recipes, production logs, colours and settings of roasters, on two lots of the demo roastery. */

const NOW = Date.UTC(2026, 10, 25, 10, 0);
let made: TestDatabase;
let database: Database;
let act: Act;

beforeAll(async () => {
	made = await newDatabase();
	database = made.database;
	act = { database, now: NOW, actor: owner('Jo') };
	const imported = await importTables(act, fewLots(['HR-141', 'HR-149']));
	expect(imported).toMatchObject({ ok: true });
}, 60_000);

afterAll(async () => {
	await made.remove();
});

const recipePage = async (code: string, version: number | null = null) =>
	(await loadRecipePage(database.orm, NOW, code, version))!;
const bytesOf = (name: string) =>
	new Uint8Array(readFileSync(join(import.meta.dirname, '../../demo-data/logs/tests', name)));
const problemsOf = (outcome: { ok: boolean; problems?: readonly { path: string }[] }) =>
	outcome.ok ? [] : outcome.problems!.map(({ path }) => path);

describe('an approved test', () => {
	test('gives the recipe its target, marks, ranges, colour and descriptors', async () => {
		const { shown, versions } = await recipePage('HR-149');
		const approved = (await loadTestPage(database.orm, NOW, 'HR-149', shown!.test.number))!;
		expect(versions).toHaveLength(1);
		expect(shown!.hasTarget).toBe(true);
		const drop = shown!.marks.find(({ name }) => name === 'drop')!;
		expect(drop.timeS).toBeCloseTo(approved.drum!.reading!.totalS, 0);
		const { lossLow, lossHigh, colour, descriptors } = shown!.standard!;
		expect((lossLow + lossHigh) / 2).toBeCloseTo(approved.roast!.weightLoss, 2);
		expect(`${colour!.value} on ${colour!.scale}`).toBe(approved.colour!.text);
		expect(descriptors).toBe(approved.cuppings.at(-1)!.descriptors);
	});
});

describe('production', () => {
	test('keeps to the recipe where nothing fades, and no drift is called', async () => {
		const { batches, drifts, usedBy } = await recipePage('HR-149');
		const logged = batches.filter(({ hasLog }) => hasLog);
		expect(logged.length).toBeGreaterThanOrEqual(15);
		expect(usedBy.batches).toBe(batches.length);
		const curve = drifts.find(({ key }) => key === 'curve')!;
		expect(curve.baseline).not.toBeNull();
		expect(curve.drift).toBeNull();
	});

	test('that loses its heat is called drifting, from about where it began', async () => {
		const { batches, drifts } = await recipePage('HR-141');
		const logged = batches.filter(({ hasLog }) => hasLog).reverse();
		expect(logged).toHaveLength(30);
		const { drift } = drifts.find(({ key }) => key === 'curve')!;
		expect(drift!.by).toBeLessThan(-0.5);
		const since = logged.findIndex(({ href }) => href === drift!.since.href);
		expect(since).toBeGreaterThanOrEqual(14);
		expect(since).toBeLessThanOrEqual(24);
		const crack = drifts.find(({ key }) => key === 'crack')!;
		expect(crack.drift!.by).toBeGreaterThan(0);
	});

	test('has a page that holds one batch to its recipe', async () => {
		const row = (await recipePage('HR-141')).batches[0]!;
		const page = (await loadBatchPage(database.orm, NOW, 'HR-141', row.id))!;
		expect(page.recipe?.version).toBe(1);
		expect(page.held).toEqual(row.held);
		expect(page.drum?.reading).not.toBeNull();
		expect(page.after).toBeNull();
		expect(await loadBatchPage(database.orm, NOW, 'HR-149', row.id)).toBeNull();
	});
});

describe('a revision', () => {
	test('makes a version with its reason; the old one stays as it was', async () => {
		const lotId = (await findLot(database.orm, 'HR-149'))!.id;
		const { target: _, ...standard } = (await loadRecipes(database.orm, lotId))[0]!.standard!;
		const change = { ...standard, bandC: 1.5 };
		const revise = (reason: string, seen: number, bandC = 1.5) =>
			perform(act, (deed) =>
				reviseRecipe(deed, { lotId, change: { ...change, bandC }, reason }, seen)
			);
		expect(problemsOf(await revise('', 1))).toEqual(['reason']);
		expect(problemsOf(await revise('tighter', 1, 0))).toEqual(['band_c']);
		expect(await revise('The panel tasted the edges', 1)).toEqual({
			ok: true,
			value: { version: 2 }
		});
		expect(problemsOf(await revise('late', 1))).toEqual(['version']);
		const { versions, batches } = await recipePage('HR-149');
		expect(versions[0]!.changes).toEqual([
			{ label: 'Band', difference: '3 °C either way to 1.5 °C either way' }
		]);
		expect(versions[0]!.reason).toBe('The panel tasted the edges');
		const before = (await recipePage('HR-149', 1)).batches;
		expect(before.map(({ id }) => id)).toEqual(batches.map(({ id }) => id));
		const inBand = (rows: typeof batches) => rows.map(({ held }) => held.curve?.inBand ?? 0);
		const sum = (values: number[]) => values.reduce((all, value) => all + value, 0);
		expect(sum(inBand(batches))).toBeLessThan(sum(inBand(before)));
		expect(await loadRecipePage(database.orm, NOW, 'HR-149', 9)).toBeNull();
	});
});

describe('a log taken in afterwards', () => {
	test('belongs to the test roast that lacked it, once, and gives the recipe its target', async () => {
		const { shown } = await recipePage('HR-141');
		const found = (await findTest(database.orm, 'HR-141', shown!.test.number))!;
		const testBatchId = found.batch.id;
		const name = `tests/HR-133-test-1.csv`;
		const add = () =>
			perform(act, (deed) => addTestLog(deed, { testBatchId, file: demoLog(name) }));
		expect(problemsOf(await add())).toEqual(['test']);
		// As if it had been recorded without its log, by an older version.
		await database.write((tx) =>
			tx.update(testRoast).set({ logId: null }).where(eq(testRoast.testBatchId, testBatchId))
		);
		expect(await add()).toMatchObject({ ok: true });
		const page = (await loadTestPage(database.orm, NOW, 'HR-141', shown!.test.number))!;
		expect(page.drum?.fileName).toBe('HR-133-test-1.csv');
		// The recipe had its target from the log of then, and keeps it.
		expect((await recipePage('HR-141')).versions).toHaveLength(1);
		const acts = await database.orm.select().from(audit);
		expect(acts.some((row) => row.act === 'add a log to a test roast')).toBe(true);
	});

	test('belongs to the production batch that lacked it; a sample log is refused', async () => {
		const lotId = (await findLot(database.orm, 'HR-141'))!.id;
		const [first] = await loadBatches(database.orm, { lotId, unlogged: true });
		const productionId = first!.batch.id;
		const add = (file: string) =>
			perform(act, (deed) => addProductionLog(deed, { productionId, file: demoLog(file) }));
		expect(problemsOf(await add('samples/HR-133-arrival.csv'))).toEqual([
			'samples/HR-133-arrival.csv'
		]);
		expect(await add('tests/HR-133-test-2.csv')).toMatchObject({ ok: true });
		expect(problemsOf(await add('tests/HR-133-test-2.csv'))).toEqual(['batch']);
		const page = (await loadBatchPage(database.orm, NOW, 'HR-141', productionId))!;
		expect(page.drum?.reading).not.toBeNull();
	});

	test('records its production batch with it, or is added to the one on record', async () => {
		const lot = (await findLot(database.orm, 'HR-149'))!;
		const records = await loadBatches(database.orm, { lotId: lot.id });
		const waiting = records.findLast(({ batch }) => batch.logId === null)!;
		const stock = await loadOnHandG(database.orm, lot.id);
		const { intakeId } = done(await perform(act, openIntake));
		const names = ['HR-134-test-1.csv', 'HR-135-test-1.csv'];
		for (const fileName of names)
			done(
				await perform(act, (deed) =>
					addIntakeFile(deed, { intakeId, fileName, bytes: bytesOf(fileName), lotCode: 'HR-149' })
				)
			);
		const batch = {
			...{ test: 'new batch', lot: 'HR-149', product: waiting.productCode },
			...{ roaster: waiting.roasterCode, by: 'Jo', charge_kg: '9', out_kg: '' },
			roasted_at: '2026-11-24T10:00'
		};
		const describe = async (...abouts: Record<string, string>[]) => {
			const files = await loadIntakeFiles(database.orm, intakeId);
			const described = files.map(({ id, version }, i) => ({
				...{ fileId: id, version },
				about: abouts[i] ?? {}
			}));
			done(await perform(act, (deed) => describeIntakeFiles(deed, { intakeId, files: described })));
		};
		const commit = async () => {
			const files = await loadIntakeFiles(database.orm, intakeId);
			const versions = new Map(files.map(({ id, version }) => [id, version]));
			return perform(act, (deed) => commitIntake(deed, { intakeId, versions }));
		};
		await describe({ ...batch, product: 'NONE' }, { test: `batch ${waiting.batch.id}` });
		const open = (await loadIntakePage(database.orm, intakeId))!;
		expect(open.rows.map((row) => [row.isNewBatch, row.isRecorded, row.ready])).toEqual([
			[true, false, false],
			[false, true, true]
		]);
		expect(open.rows[0]!.needs).toEqual(['mass out']);
		await describe({ out_kg: '7.7' });
		expect(problemsOf(await commit())).toEqual(['HR-134-test-1.csv, product']);
		// A drum that is charged already at that minute is not charged twice.
		const taken = momentOf(waiting.batch.roastedAt, 'Europe/London');
		await describe({ product: batch.product, roasted_at: `${taken.day}T${taken.clock}` });
		expect(problemsOf(await commit())).toEqual(['HR-134-test-1.csv, roasted_at']);
		expect(await loadOnHandG(database.orm, lot.id)).toBe(stock);
		await describe({ roasted_at: batch.roasted_at });
		done(await commit());
		expect(await loadOnHandG(database.orm, lot.id)).toBe(stock - 9000);
		const after = await loadBatches(database.orm, { lotId: lot.id });
		expect(after).toHaveLength(records.length + 1);
		for (const id of [after.at(-1)!.batch.id, waiting.batch.id]) {
			const page = (await loadBatchPage(database.orm, NOW, 'HR-149', id))!;
			expect(page.drum?.reading?.totalS).toBeGreaterThan(300);
			expect(page.held.curve).not.toBeNull();
		}
		expect(after.at(-1)!.batch).toMatchObject({ chargeG: 9000, outG: 7700, by: 'Jo' });
	});
});

test('a colour value has a scale, is not from before the roast, and the last one counts', async () => {
	const row = (await recipePage('HR-149')).batches[0]!;
	const record = (value: number, scale: string, at = NOW) =>
		perform(act, (deed) => recordColour(deed, { of: { productionId: row.id }, value, scale, at }));
	expect(problemsOf(await record(60, ' '))).toEqual(['colour_scale']);
	expect(problemsOf(await record(60, 'house', 0))).toEqual(['colour_at']);
	expect(await record(60, 'house')).toMatchObject({ ok: true });
	const page = (await loadBatchPage(database.orm, NOW, 'HR-149', row.id))!;
	expect(page.colour!.text).toBe('60 on house');
	expect(page.held.colour.isInside).toBeNull();
	expect(page.held.colourBecause).toContain('house');
});

test('settings of a roaster make versions, refuse the second writer, and change what a log says', async () => {
	const before = (await loadDrumSettingsPage(database.orm, 'D15'))!;
	expect(before).toMatchObject({ version: 0, versions: [] });
	const save = (thresholds: Record<string, number>, seen: number) =>
		perform(act, (deed) =>
			saveDrumSettings(
				deed,
				{ roasterId: before.id, given: { rorWindowS: 40, thresholds }, reason: 'long probe' },
				seen
			)
		);
	expect(problemsOf(await save({ probeLagS: 0 }, 0))).toEqual(['probeLagS']);
	expect(await save({ probeLagS: 12, stallForS: 30 }, 0)).toMatchObject({ ok: true });
	expect(problemsOf(await save({ probeLagS: 13 }, 0))).toEqual(['version']);
	const after = (await loadDrumSettingsPage(database.orm, 'D15'))!;
	// What equals a default is not kept as a change.
	expect(after.versions[0]!.changes.map(({ name, from, to }) => [name, from, to])).toEqual([
		['rorWindowS', 30, 40],
		['probeLagS', 55, 12]
	]);
	const page = (await loadTestPage(database.orm, NOW, 'HR-149', 1))!;
	expect(page.drum!.reading!.inputs.settings).toMatchObject({ rorWindowS: 40 });
	expect(page.drum!.reading!.faults.map(({ name }) => name)).toContain('probe lag');
});

test('tests stand side by side, aligned as asked, with what changed between them', async () => {
	const at = async (align: 'charge' | 'crack') =>
		(await loadLotTests(database.orm, 'HR-149', align))!;
	const page = await at('charge');
	expect(page.tests.length).toBeGreaterThanOrEqual(2);
	expect(page.curves!.timeS[0]).toBe(0);
	expect((await at('crack')).curves!.timeS[0]).toBeLessThan(-300);
	expect(page.steps).toHaveLength(page.tests.length - 1);
	const [step] = page.steps;
	expect(step!.changes.length).toBeGreaterThanOrEqual(1);
	const differing = page.settings.filter(({ differs }) => differs[1]).map(({ label }) => label);
	expect(differing).toHaveLength(step!.changes.length);
	const loss = page.outcomes.find(({ key }) => key === 'weightLoss')!;
	expect(loss.differences[0]).toBeNull();
	expect(loss.differences[1]).toBeCloseTo(loss.values[1]! - loss.values[0]!, 12);
	expect(await loadLotTests(database.orm, 'nowhere', 'charge')).toBeNull();
});

import { afterEach, beforeEach, expect, test } from 'vitest';
import type { Outcome } from '#lib/domain/quantity/problem.ts';
import { perform, type Deed } from '#lib/server/commands/act.ts';
import { addIntakeFile, MAX_INTAKE_FILES } from '#lib/server/commands/addIntakeFile.ts';
import { commitIntake } from '#lib/server/commands/commitIntake.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { describeIntakeFiles } from '#lib/server/commands/describeIntakeFiles.ts';
import { mapIntakeFile } from '#lib/server/commands/mapIntakeFile.ts';
import { openIntake } from '#lib/server/commands/openIntake.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { recordMovement } from '#lib/server/commands/recordMovement.ts';
import { removeIntakeFile } from '#lib/server/commands/removeIntakeFile.ts';
import { saveSite } from '#lib/server/commands/saveSite.ts';
import type { Database } from '#lib/server/db/client.ts';
import { mappingMemory, roaster, roastLog, sampleRoast, testRoast } from '#lib/server/db/schema.ts';
import { parseCorrection, type Correction } from '#lib/server/imports/correct.ts';
import { findIntakeFile, loadIntakeFiles } from '#lib/server/store/intake.ts';
import { findLot, loadOnHandG } from '#lib/server/store/lots.ts';
import { loadIntakeFilePage, loadIntakePage } from '#lib/server/views/intake.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { lotFields } from '#support/records.ts';

/** Made-up logs and lots throughout; nothing here claims to be a real roast. */

const NOW = Date.UTC(2026, 10, 25, 9);
const ARRIVED = Date.UTC(2026, 10, 2, 9);

let made: TestDatabase;
let database: Database;

beforeEach(async () => {
	made = await newDatabase();
	database = made.database;
	await done((deed) =>
		saveSite(deed, {
			name: 'Quarry Lane',
			timeZone: 'Europe/London',
			currency: 'GBP',
			altitudeM: 60,
			releaseLeadDays: 5,
			cuppingLagHours: 24,
			testCycleDays: 2
		})
	);
	for (const code of ['QL-1', 'QL-2']) await addLot(code);
});

afterEach(async () => {
	await made.remove();
});

function act<T>(work: (deed: Deed) => Promise<Outcome<T>>, by = 'Ada'): Promise<Outcome<T>> {
	return perform({ database, now: NOW, actor: owner(by) }, work);
}

async function done<T>(work: (deed: Deed) => Promise<Outcome<T>>): Promise<T> {
	const outcome = await act(work);
	if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
	return outcome.value;
}

/** A lot with 60 kg in stock. */
async function addLot(code: string): Promise<void> {
	const { lotId } = await done((deed) => createLot(deed, lotFields(code)));
	await done((deed) =>
		recordMovement(deed, lotId, {
			at: ARRIVED,
			kind: 'received',
			massG: 60_000,
			reason: 'weighed in'
		})
	);
}

/** Six even minutes with a swell of humidity; `seed` makes the bytes differ. */
function sampleText(seed = 0, change: (line: string, second: number) => string = (line) => line) {
	const lines = Array.from({ length: 181 }, (_, i) => {
		const s = 2 * i;
		const bean = 40 + s * 0.45 + seed / 100;
		const humidity = 12 + 6 * Math.exp(-(((s - 250) / 80) ** 2));
		return change(`${s},${bean.toFixed(2)},45,${humidity.toFixed(2)}`, s);
	});
	return ['Time (s),Bean (C),Humidity sensor (C),RH (%)', ...lines].join('\n') + '\n';
}

function drumText(seed = 0) {
	const lines = Array.from(
		{ length: 60 },
		(_, i) => `${i * 10},${(95 + i * 2 + seed).toFixed(1)},60`
	);
	return ['time (s),bean (C),gas %', ...lines].join('\n') + '\n';
}

async function openWith(files: Readonly<Record<string, string>>) {
	const { intakeId } = await done(openIntake);
	for (const [fileName, text] of Object.entries(files))
		await done((deed) =>
			addIntakeFile(deed, {
				intakeId,
				fileName,
				bytes: new TextEncoder().encode(text),
				lotCode: null
			})
		);
	return intakeId;
}

const SAMPLE = { stage: 'arrival', roasted_at: '2026-11-20T10:00', charge_g: '100', out_g: '86' };

/** Describes every file alike. */
async function describeAll(intakeId: number, about: Record<string, string>) {
	const files = await loadIntakeFiles(database.orm, intakeId);
	return done((deed) =>
		describeIntakeFiles(deed, {
			intakeId,
			files: files.map(({ id, version }) => ({ fileId: id, version, about }))
		})
	);
}

async function commit(intakeId: number) {
	const files = await loadIntakeFiles(database.orm, intakeId);
	const versions = new Map(files.map(({ id, version }) => [id, version]));
	return act((deed) => commitIntake(deed, { intakeId, versions }));
}

async function counts() {
	return {
		logs: (await database.orm.select({ id: roastLog.id }).from(roastLog)).length,
		samples: (await database.orm.select({ id: sampleRoast.id }).from(sampleRoast)).length
	};
}

const twenty = (change: (text: string, i: number) => string = (text) => text) =>
	Object.fromEntries(
		Array.from({ length: 20 }, (_, i) => [
			`QL-${1 + (i % 2)} arrival ${i + 1}.csv`,
			change(sampleText(i), i)
		])
	);

test('20 files at once: lots and stages guessed, all recorded, the charges out of stock', async () => {
	const intakeId = await openWith(twenty());
	const before = await loadIntakePage(database.orm, intakeId);
	expect(before?.needs).toBe('20 of 20 still need: roasted at, charge');
	expect(before?.rows.map(({ about }) => about['lot']).slice(0, 3)).toEqual([
		'QL-1',
		'QL-2',
		'QL-1'
	]);
	await describeAll(intakeId, SAMPLE);
	expect((await loadIntakePage(database.orm, intakeId))?.rows.every(({ ready }) => ready)).toBe(
		true
	);
	const outcome = await commit(intakeId);
	expect(outcome).toMatchObject({ ok: true });
	expect(await counts()).toEqual({ logs: 20, samples: 20 });
	const lot = await findLot(database.orm, 'QL-1');
	// Ten samples of 100 g out of 60 kg.
	expect(await loadOnHandG(database.orm, lot!.id)).toBe(59_000);
	expect((await commit(intakeId)).ok).toBe(false);
	const after = await loadIntakePage(database.orm, intakeId);
	expect(after?.committedAt).not.toBeNull();
	expect(after?.taken.every(({ href }) => href?.startsWith('/samples/'))).toBe(true);
});

test('one bad cell refuses all 20 and names file, row and column', async () => {
	const spoil = (text: string, i: number) =>
		i === 6 ? text.replace('\n100,', '\n100,warm') : text;
	const intakeId = await openWith(twenty(spoil));
	await describeAll(intakeId, SAMPLE);
	const outcome = await commit(intakeId);
	expect(outcome.ok).toBe(false);
	if (outcome.ok) return;
	expect(outcome.problems).toHaveLength(1);
	// 100 s is the 51st row of data, below one heading row.
	expect(outcome.problems[0]!.path).toBe("QL-1 arrival 7.csv, row 52, column 'Bean (C)'");
	expect(outcome.problems[0]!.message).toMatch(/^found 'warm.*expected a number in C/);
	expect(await counts()).toEqual({ logs: 0, samples: 0 });
});

test('what the acts refuse undoes the files before, and one attempt names every refusal', async () => {
	const intakeId = await openWith({
		'QL-1.csv': sampleText(1),
		'QL-2 a.csv': sampleText(2),
		'QL-2 b.csv': sampleText(3)
	});
	await describeAll(intakeId, SAMPLE);
	// What the ledger can't give is only known when it is posted.
	const lot = await findLot(database.orm, 'QL-2');
	await done((deed) =>
		recordMovement(deed, lot!.id, {
			at: ARRIVED,
			kind: 'sold green',
			massG: -60_000,
			reason: 'sold'
		})
	);
	const outcome = await commit(intakeId);
	expect(outcome.ok ? [] : outcome.problems.map(({ path }) => path)).toEqual([
		'QL-2 a.csv, charge_g',
		'QL-2 b.csv, charge_g'
	]);
	expect(await counts()).toEqual({ logs: 0, samples: 0 });
});

test('a blank and a wrong field are named by file and field', async () => {
	const intakeId = await openWith({ 'QL-1.csv': sampleText(1) });
	await describeAll(intakeId, { ...SAMPLE, charge_g: '', out_g: 'some' });
	const page = await loadIntakePage(database.orm, intakeId);
	expect(page?.rows[0]?.wrong).toHaveProperty('out_g');
	const outcome = await commit(intakeId);
	expect(outcome.ok ? [] : outcome.problems.map(({ path }) => path)).toEqual(['QL-1.csv, out_g']);
	await describeAll(intakeId, { out_g: '86' });
	const again = await commit(intakeId);
	expect(again.ok ? [] : again.problems.map(({ path }) => path)).toEqual(['QL-1.csv, charge_g']);
});

test('the same bytes twice: in one intake, and after they were taken in', async () => {
	const intakeId = await openWith({ 'QL-1 a.csv': sampleText(1), 'QL-1 b.csv': sampleText(1) });
	await describeAll(intakeId, SAMPLE);
	const refused = await commit(intakeId);
	expect(refused.ok ? [] : refused.problems).toMatchObject([
		{ path: 'QL-1 b.csv', message: expect.stringContaining('QL-1 a.csv') }
	]);
	const [, second] = await loadIntakeFiles(database.orm, intakeId);
	await done((deed) => removeIntakeFile(deed, { intakeId, fileId: second!.id }));
	expect((await commit(intakeId)).ok).toBe(true);

	const next = await openWith({ 'renamed QL-1.csv': sampleText(1) });
	await describeAll(next, SAMPLE);
	const page = await loadIntakePage(database.orm, next);
	expect(page?.rows[0]?.problems[0]).toMatchObject({
		href: '/samples/1',
		message: expect.stringContaining('QL-1 a.csv')
	});
	expect((await commit(next)).ok).toBe(false);
	expect(await counts()).toEqual({ logs: 1, samples: 1 });
});

/** The correction a form would send: each column as it is, but for `changes`. */
async function correction(
	intakeId: number,
	fileId: number,
	changes: Record<string, string>
): Promise<Correction> {
	const page = (await loadIntakeFilePage(database.orm, intakeId, fileId))!;
	const file = (await findIntakeFile(database.orm, fileId))!;
	const fields = {
		kind: page.mapping!.kind,
		decimal: page.mapping!.decimal,
		heading_row: String(page.mapping!.headingRow ?? ''),
		...Object.fromEntries(page.shown!.columns.map((c) => [`column.${c.index}`, c.value])),
		...changes
	};
	const read = parseCorrection(fields, file.mapping!);
	if (!read.ok) throw new Error(JSON.stringify(read.problems));
	return read.value;
}

const odd = (seed: number) => sampleText(seed).replace('Bean (C)', 'probe 2');

test('a corrected mapping is what is taken in, and is remembered for the next file of that shape', async () => {
	const intakeId = await openWith({ 'QL-1.csv': odd(1), 'QL-2.csv': odd(2) });
	const [file, sibling] = await loadIntakeFiles(database.orm, intakeId);
	const guessed = await loadIntakeFilePage(database.orm, intakeId, file!.id);
	expect(guessed?.shown?.columns[1]?.value).not.toBe('beanC|F|');
	await done(async (deed) =>
		mapIntakeFile(deed, {
			intakeId,
			fileId: file!.id,
			version: file!.version,
			correction: await correction(intakeId, file!.id, { 'column.1': 'beanC|F|' }),
			alsoSameShape: true
		})
	);
	const shown = await loadIntakeFilePage(database.orm, intakeId, file!.id);
	expect(shown?.shown?.corrected).toBe(true);
	// The file's values begin at 40.01: (40.01 - 32) * 5 / 9 = 4.45 C.
	expect(shown?.shown?.columns[1]?.range?.from).toBeCloseTo(4.45, 2);
	expect((await findIntakeFile(database.orm, sibling!.id))?.mapping?.columns[1]).toMatchObject({
		use: 'beanC',
		unit: 'F'
	});
	expect(await database.orm.select().from(mappingMemory)).toEqual([]);
	await describeAll(intakeId, SAMPLE);
	expect(await commit(intakeId)).toMatchObject({ ok: true });
	const logs = await database.orm.select().from(roastLog);
	expect(logs.map(({ mapping }) => mapping)).toMatchObject([
		{ columns: [{}, { use: 'beanC', unit: 'F' }, {}, {}] },
		{ columns: [{}, { use: 'beanC', unit: 'F' }, {}, {}] }
	]);
	expect(await database.orm.select().from(mappingMemory)).toHaveLength(1);

	const next = await openWith({ 'QL-2 again.csv': odd(3) });
	const [third] = await loadIntakeFiles(database.orm, next);
	const recalled = await loadIntakeFilePage(database.orm, next, third!.id);
	expect(recalled?.shown).toMatchObject({ remembered: true, corrected: false });
	expect(recalled?.shown?.columns[1]?.value).toBe('beanC|F|');
});

test('a mapping that nobody corrected is not remembered', async () => {
	const intakeId = await openWith({ 'QL-1.csv': sampleText(1) });
	await describeAll(intakeId, SAMPLE);
	expect((await commit(intakeId)).ok).toBe(true);
	expect(await database.orm.select().from(mappingMemory)).toEqual([]);
});

test('a mapping with two columns of time is refused and nothing changes', async () => {
	const intakeId = await openWith({ 'QL-1.csv': sampleText(1) });
	const [file] = await loadIntakeFiles(database.orm, intakeId);
	const outcome = await act(async (deed) =>
		mapIntakeFile(deed, {
			intakeId,
			fileId: file!.id,
			version: file!.version,
			correction: await correction(intakeId, file!.id, { 'column.1': 'time|s|' }),
			alsoSameShape: false
		})
	);
	expect(outcome.ok ? [] : outcome.problems).toMatchObject([{ path: 'time' }]);
	expect((await findIntakeFile(database.orm, file!.id))?.version).toBe(1);
});

test('another heading row makes other columns', async () => {
	const intakeId = await openWith({ 'QL-1.csv': sampleText(1) });
	const [file] = await loadIntakeFiles(database.orm, intakeId);
	const outcome = await act(async (deed) =>
		mapIntakeFile(deed, {
			intakeId,
			fileId: file!.id,
			version: file!.version,
			correction: await correction(intakeId, file!.id, { heading_row: '2' }),
			alsoSameShape: false
		})
	);
	expect(outcome.ok).toBe(true);
	const page = await loadIntakeFilePage(database.orm, intakeId, file!.id);
	expect(page?.shown?.columns.map(({ heading }) => heading)[0]).toBe('0');
	expect(page?.shown?.firstRows[0]?.row).toBe(3);
});

test('the second of two writers is told and nothing of theirs is written', async () => {
	const intakeId = await openWith({ 'QL-1.csv': sampleText(1) });
	const [seen] = await loadIntakeFiles(database.orm, intakeId);
	const write = (by: string, charge: string) =>
		act(
			(deed) =>
				describeIntakeFiles(deed, {
					intakeId,
					files: [{ fileId: seen!.id, version: seen!.version, about: { charge_g: charge } }]
				}),
			by
		);
	expect((await write('Ada', '100')).ok).toBe(true);
	const second = await write('Ben', '80');
	expect(second.ok ? [] : second.problems).toMatchObject([
		{ path: 'QL-1.csv', message: expect.stringContaining("charge '100'") }
	]);
	expect((await findIntakeFile(database.orm, seen!.id))?.about['charge_g']).toBe('100');
	// The same words are no conflict.
	expect((await write('Ben', '100')).ok).toBe(true);
	const stale = await act((deed) =>
		commitIntake(deed, { intakeId, versions: new Map([[seen!.id, seen!.version]]) })
	);
	expect(stale.ok ? [] : stale.problems).toMatchObject([{ path: 'QL-1.csv' }]);
});

test('a drum log becomes the roast of a waiting test, with the planned charge', async () => {
	const lot = (await findLot(database.orm, 'QL-1'))!;
	const rows = await database.orm
		.insert(roaster)
		.values({
			code: 'A',
			name: 'Drum A',
			minChargeG: 2000,
			maxChargeG: 15_000,
			warmUpMin: 30,
			cycleMin: 20,
			roastMin: 12,
			cleaningMin: 60
		})
		.returning({ id: roaster.id });
	const { testBatchId } = await done((deed) =>
		planTest(deed, {
			lotId: lot.id,
			plannedAt: NOW,
			purpose: 'first look',
			change: '',
			roasterId: rows[0]!.id,
			settings: {
				chargeG: 5000,
				startC: 190,
				soakS: 30,
				gasSteps: [{ atS: 0, pct: 60 }],
				airSteps: [{ atS: 0, pct: 50 }],
				drumRpm: 45
			}
		})
	);
	const intakeId = await openWith({ 'QL-1 test 1.csv': drumText(), 'QL-1 twice.csv': drumText(1) });
	const page = await loadIntakePage(database.orm, intakeId);
	expect(page?.rows.map(({ about }) => about['test'])).toEqual(['QL-1/1', 'QL-1/1']);
	await describeAll(intakeId, { roasted_at: '2026-11-20T11:00', out_kg: '4.3' });
	const both = await commit(intakeId);
	expect(both.ok ? [] : both.problems.map(({ path }) => path)).toEqual(['QL-1 twice.csv, test']);
	const [, second] = await loadIntakeFiles(database.orm, intakeId);
	await done((deed) => removeIntakeFile(deed, { intakeId, fileId: second!.id }));
	expect(await commit(intakeId)).toMatchObject({
		ok: true,
		value: { taken: [{ sampleId: null }] }
	});
	expect(await database.orm.select().from(testRoast)).toMatchObject([
		{ testBatchId, chargeG: 5000, outG: 4300 }
	]);
	expect(await loadOnHandG(database.orm, lot.id)).toBe(55_000);
});

test('a date above the headings or in the time column says when it was roasted', async () => {
	const stamped = sampleText(1)
		.split('\n')
		.map((line, i) => {
			if (i === 0 || line === '') return line;
			const [, ...rest] = line.split(',');
			const time = new Date(Date.UTC(2026, 10, 19, 8, 30, 2 * (i - 1)));
			return [time.toISOString().slice(0, 19).replace('T', ' '), ...rest].join(',');
		})
		.join('\n')
		.replace('Time (s)', 'Time');
	const intakeId = await openWith({
		'QL-1.csv': stamped,
		'other.csv': `Sample bench\nLot QL-2 begun 19.11.2026 14:05\n\n${sampleText(2)}`
	});
	const files = await loadIntakeFiles(database.orm, intakeId);
	expect(files.map(({ about }) => [about['lot'], about['roasted_at']])).toEqual([
		['QL-1', '2026-11-19T08:30'],
		['QL-2', '2026-11-19T14:05']
	]);
});

test('limits: one file too many and a file too large are refused, an unreadable one is kept and said', async () => {
	const { intakeId } = await done(openIntake);
	const add = (fileName: string, bytes: Uint8Array) =>
		act((deed) => addIntakeFile(deed, { intakeId, fileName, bytes, lotCode: null }));
	const large = await add('large.csv', new Uint8Array(4 * 1024 * 1024 + 1));
	expect(large.ok ? [] : large.problems).toMatchObject([{ path: 'large.csv' }]);
	for (let i = 0; i < MAX_INTAKE_FILES; i++)
		expect((await add(`${i}.csv`, new TextEncoder().encode(`words only ${i}`))).ok).toBe(true);
	const over = await add('over.csv', new TextEncoder().encode('words'));
	expect(over.ok ? [] : over.problems).toMatchObject([{ path: 'over.csv' }]);
	const page = await loadIntakePage(database.orm, intakeId);
	expect(page?.rows[0]).toMatchObject({ kind: null, ready: false });
	expect(page?.rows[0]?.problems).toHaveLength(1);
});

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { lotBalance, runningBalance } from '#lib/domain/ledger/ledger.ts';
import { STAGES } from '#lib/domain/lot/lot.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import {
	importTables,
	type ImportCounts,
	type RoasteryFiles
} from '#lib/server/commands/importTables.ts';
import { parseCsv } from '#lib/server/imports/csv.ts';
import { TABLES, type TableFile } from '#lib/server/imports/tables.ts';
import { loadSamples } from '#lib/server/store/logs.ts';
import { loadMovements, loadOnHandG } from '#lib/server/store/lots.ts';
import { isOpen, loadRoastery, type Roastery } from '#lib/server/views/roastery.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, rowCounts, type TestDatabase } from '#support/database.ts';
import { fewLots } from '#support/fewLots.ts';
import { ROOT } from '../../src/cli/support/build.ts';
import { demoFiles } from '../../src/cli/support/demoFiles.ts';

/** Whole tables go in or nothing does (importTables.ts, rules 1 to 4). */

/** Wednesday 25 November 2026, 10:00 in London. */
const NOW = Date.UTC(2026, 10, 25, 10);

let demo: TestDatabase;
let counts: ImportCounts;
let roastery: Roastery;

beforeAll(async () => {
	demo = await newDatabase();
	const outcome = await importTables(
		{ database: demo.database, now: NOW, actor: owner('Demo') },
		demoFiles(NOW)
	);
	if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems.slice(0, 5)));
	counts = outcome.value;
	roastery = await loadRoastery(demo.database.orm, NOW);
}, 300_000);
afterAll(() => demo.remove());

/** Rows of a demo table as records, read apart from the import. */
function demoRows(file: TableFile): Record<string, string>[] {
	const [heading = [], ...rows] = parseCsv(
		readFileSync(join(ROOT, 'demo-data', file), 'utf8'),
		','
	).rows;
	return rows.map((row) => Object.fromEntries(heading.map((name, i) => [name, row[i] ?? ''])));
}

const gramsOf = (kg: string | undefined) => Math.round(Number(kg) * 1000);

describe('the demo roastery', () => {
	it('goes in whole: every row and every log', async () => {
		const files = Object.keys(TABLES) as TableFile[];
		expect(counts.rows).toBe(files.reduce((sum, file) => sum + demoRows(file).length, 0));
		const rows = await rowCounts(demo.database);
		const tests = demoRows('tests.csv');
		const logs = [...demoRows('samples.csv'), ...tests, ...demoRows('production_logs.csv')].filter(
			(row) => row['log_file'] !== ''
		);
		const closed = demoRows('cupping_sessions.csv').filter((row) => row['closed_at'] !== '');
		const closedSheets = demoRows('session_sheets.csv').filter((row) =>
			closed.some(({ session }) => session === row['session'])
		);
		expect(counts.logs).toBe(logs.length);
		expect(rows).toMatchObject({
			lot: demoRows('lots.csv').length,
			price_terms: demoRows('price_terms.csv').length,
			measurement: demoRows('measurements.csv').length,
			sample_roast: demoRows('samples.csv').length,
			roast_log: logs.length,
			reading: demoRows('samples.csv').length,
			test_batch: tests.length,
			test_roast: tests.filter((row) => row['roasted_at'] !== '').length,
			cupping: demoRows('cuppings.csv').length + closedSheets.length,
			session_cup: demoRows('session_cups.csv').length,
			session_sheet: demoRows('session_sheets.csv').length,
			verdict: demoRows('verdicts.csv').length,
			recipe: demoRows('verdicts.csv').filter((row) => row['verdict'] === 'approve').length,
			release: demoRows('releases.csv').length,
			production: demoRows('production.csv').length,
			colour: demoRows('colours.csv').length,
			demand: demoRows('demand.csv').length
		});
	});

	it('reads every sample log', async () => {
		const samples = await loadSamples(demo.database.orm);
		expect(samples.filter((s) => s.result === null)).toEqual([]);
	});

	it('explains every gram of every lot (ledger, rule 2) as the tables say it', async () => {
		const movements = demoRows('movements.csv');
		const ofLot = (rows: Record<string, string>[], lot: string) =>
			rows.filter((row) => row['lot'] === lot);
		const samples = demoRows('samples.csv').filter((row) => row['stage'] === 'arrival');
		const tests = demoRows('tests.csv').filter((row) => row['roasted_at'] !== '');
		const production = demoRows('production.csv');
		const sum = (rows: Record<string, string>[], grams: (row: Record<string, string>) => number) =>
			rows.reduce((total, row) => total + grams(row), 0);
		for (const { lot } of roastery.lots) {
			const recorded = ofLot(movements, lot.code);
			const of = (kind: string) =>
				sum(
					recorded.filter((row) => row['kind'] === kind),
					(row) => gramsOf(row['mass_kg'])
				);
			const sampledG = sum(ofLot(samples, lot.code), (row) => Math.round(Number(row['charge_g'])));
			const testedG = sum(ofLot(tests, lot.code), (row) => gramsOf(row['charge_kg']));
			const producedG = sum(ofLot(production, lot.code), (row) => gramsOf(row['charge_kg']));
			const leftG =
				sum(recorded, (row) => gramsOf(row['mass_kg'])) - sampledG - testedG - producedG;
			const rows = await loadMovements(demo.database.orm, lot.id);
			expect({ lot: lot.code, ...lotBalance(rows) }).toEqual({
				lot: lot.code,
				receivedG: of('received'),
				sampledG,
				testedG,
				producedG,
				soldGreenG: 0 - of('sold green'),
				writtenOffG: 0 - of('written off'),
				countDifferenceG: of('count difference'),
				onHandG: leftG
			});
			expect(await loadOnHandG(demo.database.orm, lot.id)).toBe(leftG);
			expect(runningBalance(rows).lowestG).toBeGreaterThanOrEqual(0);
		}
	});

	it('has a dozen open lots, two in every stage before release', () => {
		const open = roastery.lots.filter(isOpen).map((facts) => facts.standing.stage);
		expect(open.toSorted()).toEqual(
			STAGES.slice(0, 6)
				.flatMap((stage) => [stage, stage])
				.toSorted()
		);
		const rest = new Set(roastery.lots.filter((f) => !isOpen(f)).map((f) => f.standing.stage));
		expect([...rest].sort()).toEqual(['rejected', 'released', 'used up']);
	});

	it('has at least five lots that still need profiling, one of them too late for its date', () => {
		const waiting = roastery.lots.filter((f) => isOpen(f) && f.testsRoasted === 0);
		expect(waiting.length).toBeGreaterThanOrEqual(5);
		const late = waiting.filter((f) => f.ready?.state === 'too late');
		expect(late.map((f) => [f.lot.kind, f.standing.stage])).toEqual([['decaf', 'arrived']]);
	});

	it('is refused a second time, whole', async () => {
		const before = await rowCounts(demo.database);
		const act = { database: demo.database, now: NOW, actor: owner('Demo') };
		const again = await importTables(act, demoFiles(NOW));
		expect(again.ok ? [] : again.problems).toContainEqual({
			path: 'lots.csv row 2, code',
			message: 'Lot HR-101 exists already; a code is used once.'
		});
		expect(await rowCounts(demo.database)).toEqual(before);
	});
});

describe('a fault in any file', () => {
	let empty: TestDatabase;
	let few: RoasteryFiles;

	beforeAll(async () => {
		empty = await newDatabase();
		few = fewLots(['HR-133', 'HR-135']);
	});
	afterAll(() => empty.remove());

	/** The files with one cell of a table replaced; rows count as a spreadsheet shows them. */
	function withCell(file: TableFile, row: number, column: string, text: string): RoasteryFiles {
		const rows = parseCsv(new TextDecoder().decode(few.tables[file]), ',').rows.map((r) => [...r]);
		const at = rows[0]!.indexOf(column);
		if (at < 0 || !rows[row - 1]) throw new Error(`${file} has no ${column} in row ${row}.`);
		rows[row - 1]![at] = text;
		return { ...few, tables: { ...few.tables, [file]: bytesOf(rows) } };
	}

	function bytesOf(rows: readonly (readonly string[])[]): Uint8Array {
		const line = (row: readonly string[]) => row.map((c) => `"${c.replaceAll('"', '""')}"`).join();
		return new TextEncoder().encode(rows.map((row) => `${line(row)}\n`).join(''));
	}

	async function problemsOf(files: RoasteryFiles): Promise<readonly Problem[]> {
		const outcome = await importTables(
			{ database: empty.database, now: NOW, actor: owner('Test') },
			files
		);
		expect(await rowCounts(empty.database)).toEqual(nothing);
		return outcome.ok ? [] : outcome.problems;
	}

	let nothing: Record<string, number>;
	beforeAll(async () => {
		nothing = await rowCounts(empty.database);
		expect(Object.values(nothing).reduce((a, b) => a + b)).toBe(0);
	});

	it.each([
		['lots.csv', 2, 'country', 'Kenya', "lots.csv, row 2, column 'country'", /found 'Kenya'/],
		[
			'movements.csv',
			2,
			'mass_kg',
			'many',
			"movements.csv, row 2, column 'mass_kg'",
			/found 'many'/
		],
		['tests.csv', 3, 'gas_steps', '2:00', "tests.csv, row 3, column 'gas_steps'", /expected steps/],
		['cuppings.csv', 2, 'scores', '7;7', "cuppings.csv, row 2, column 'scores'", /found 2 scores/],
		['site.csv', 2, 'time_zone', 'Mars', "site.csv, row 2, column 'time_zone'", /found 'Mars'/],
		['price_terms.csv', 2, 'lot', 'HR-999', 'price_terms.csv row 2, lot', /no lot HR-999/],
		['blends.csv', 2, 'share_pct', '99', 'blends.csv row 2, share_pct', /expected 100 %/],
		['cost_rates.csv', 2, 'roaster', 'D99', 'cost_rates.csv row 2, roaster', /no roaster D99/]
	] as const)('%s row %i, %s: %s', async (file, row, column, text, path, message) => {
		const problems = await problemsOf(withCell(file, row, column, text));
		expect(problems).toContainEqual({
			path,
			message: expect.stringMatching(message) as string
		});
	});

	it('a batch produced before the release names its row', async () => {
		const rows = parseCsv(new TextDecoder().decode(few.tables['production.csv']), ',').rows;
		expect(rows.length).toBeGreaterThan(1);
		const [problem] = await problemsOf(
			withCell('production.csv', 2, 'roasted_at', '2026-01-02 08:00')
		);
		expect(problem?.path).toBe('production.csv row 2, lot');
		expect(problem?.message).toMatch(/Can't roast it for production/);
	});

	it('a log that is missing, named by nobody, or broken in one cell is named', async () => {
		const [path] = [...few.logs.keys()];
		const without = new Map(few.logs);
		without.delete(path!);
		expect(await problemsOf({ ...few, logs: without })).toContainEqual({
			path: expect.stringMatching(/^(samples|tests)\.csv row \d+$/) as string,
			message: `The log file ${path} is missing.`
		});
		const more = new Map(few.logs).set('logs/stray.csv', few.logs.get(path!)!);
		expect(await problemsOf({ ...few, logs: more })).toContainEqual({
			path: 'logs/stray.csv',
			message: 'No row of samples.csv, tests.csv or production_logs.csv names this file.'
		});
		const lines = new TextDecoder('latin1').decode(few.logs.get(path!)).split('\n');
		lines[40] = lines[40]!.replace(/\d+([.,]\d+)?/, 'oops');
		const bytes = new TextEncoder().encode(lines.join('\n'));
		const [broken] = await problemsOf({ ...few, logs: new Map(few.logs).set(path!, bytes) });
		expect(broken?.path).toMatch(new RegExp(`^${path}, row 41`));
		expect(broken?.message).toMatch(/oops/);
	});

	it('without site.csv an empty database is told what comes first', async () => {
		const { 'site.csv': _, ...tables } = few.tables;
		expect(await problemsOf({ ...few, tables })).toContainEqual({
			path: 'site.csv',
			message: 'Expected it: the site is not set up yet.'
		});
	});

	it('none: logs are found by their bare names too, as a browser sends them', async () => {
		const logs = new Map([...few.logs].map(([path, bytes]) => [path.split('/').at(-1)!, bytes]));
		const fresh = await newDatabase();
		const outcome = await importTables(
			{ database: fresh.database, now: NOW, actor: owner('Test') },
			{ ...few, logs }
		);
		expect(outcome).toMatchObject({ ok: true, value: { logs: few.logs.size } });
		await fresh.remove();
	});
});

import { afterAll, beforeAll, expect, it } from 'vitest';
import type { Act } from '#lib/server/commands/act.ts';
import { importTables } from '#lib/server/commands/importTables.ts';
import { CSV_LIMITS } from '#lib/server/imports/csv.ts';
import { sniffLog } from '#lib/server/imports/logFile.ts';
import { readTable } from '#lib/server/imports/tableFile.ts';
import { TABLES } from '#lib/server/imports/tables.ts';
import { owner } from '#support/actors.ts';
import { judge } from '#support/badFileChecks.ts';
import { takeIn } from '#support/badFileIntake.ts';
import { badFile } from '#support/badFiles.ts';
import { newDatabase, rowCounts, type TestDatabase } from '#support/database.ts';
import { fewLots } from '#support/fewLots.ts';
import { done } from '#support/smallRoastery.ts';

/**
 * Bad files, by number (tests/support/badFiles.ts): read, or refused in words; never a throw, never half
 * taken in. `npm run bench -- --slow --only "bad files"` goes through 100,000.
 */

/** Numbers that once failed, kept for good. */
const ONCE_FAILED: readonly number[] = [];
const READ = 2000;
const TAKEN_IN = 40;
const LOT = 'HR-135';

let db: TestDatabase;
let act: Act;

beforeAll(async () => {
	db = await newDatabase();
	act = { database: db.database, now: Date.UTC(2026, 10, 25, 9), actor: owner('Nell') };
	done(await importTables(act, fewLots([LOT, 'HR-105'])));
});
afterAll(() => db.remove());

const told = (number: number, faults: readonly string[]) =>
	faults.map((fault) => `file ${number} (${badFile(number).mishaps.join(', ')}): ${fault}`);

it(`reads or refuses the first ${READ} bad files`, () => {
	const numbers = [...ONCE_FAILED, ...Array.from({ length: READ }, (_, i) => i)];
	const judged = numbers.map((number) => ({ number, ...judge(badFile(number)) }));
	expect(judged.flatMap(({ number, faults }) => told(number, faults))).toEqual([]);
	// Both ways are well trodden, and every table is among them.
	const accepted = judged.filter((each) => each.accepted).length;
	expect(accepted).toBeGreaterThan(READ / 20);
	expect(accepted).toBeLessThan(READ / 2);
	const tables = new Set(numbers.map((number) => badFile(number).table));
	expect(tables.size).toBe(Object.keys(TABLES).length + 1);
});

it(`takes ${TAKEN_IN} of them in whole, or not at all`, async () => {
	const all = Array.from({ length: READ }, (_, i) => badFile(i));
	// Those that read well get further, so most are of them.
	const readable = all.filter((file) => judge(file).accepted).slice(0, TAKEN_IN - 10);
	const faults: string[] = [];
	let accepted = 0;
	for (const file of [...ONCE_FAILED.map(badFile), ...all.slice(0, 10), ...readable]) {
		const taken = await takeIn(act, file, LOT);
		if (taken.accepted) accepted++;
		faults.push(...told(file.number, taken.faults));
	}
	expect(faults).toEqual([]);
	expect(accepted).toBeGreaterThan(2);
	expect(accepted).toBeLessThan(TAKEN_IN - 2);
});

it('a roastery that goes wrong in the last row of its history is not taken in at all', async () => {
	const empty = await newDatabase();
	const files = fewLots(['HR-105']);
	const before = await rowCounts(empty.database);
	// Right in form and more than the lot holds: found out when all else is in.
	const text = new TextDecoder().decode(files.tables['production.csv']);
	const late = Array.from({ length: 60 }, (_, i) => i).map(
		(i) => `HR-105,SEALED,D15,2026-11-20 07:${String(i).padStart(2, '0')},15,13,Bea Thornwick\n`
	);
	const bytes = new TextEncoder().encode(text + late.join(''));
	const outcome = await importTables(
		{ ...act, database: empty.database },
		{ ...files, tables: { ...files.tables, 'production.csv': bytes } }
	);
	expect(outcome.ok ? '' : outcome.problems[0]!.path).toMatch(/^production\.csv/);
	expect(await rowCounts(empty.database)).toEqual(before);
	await empty.remove();
});

/** Text that a careless reader would need the square of its length for. */
const WEARING = [
	...['"', '""', '","', '"a\n",', ',', ',\n', '\n', '\r', '1', '1 ', ' ', 'a', '.', "'", '9,'],
	...['1,2\n', '1:00,2\n', '0,1,2,3\n', '1,234,', '-,', 'é,', '1 C,2 C\n', '2026-01-01 10:00,1\n']
];
it.each(WEARING)('100,000 characters of %j are read by the limits of a table', (unit) => {
	const length = 100_000;
	const rows = unit.repeat(Math.ceil(length / unit.length)).slice(0, length);
	const log = new TextEncoder().encode(`time_s,bean_c\n0,20\n1,21\n${rows}`);
	const preview = sniffLog(log, 'long.csv');
	expect(preview.rowCount).toBeLessThanOrEqual(CSV_LIMITS.maxRows);
	expect(preview.headings.length).toBeLessThanOrEqual(CSV_LIMITS.maxColumns);
	const table = new TextEncoder().encode(`code,name,shade,price_per_kg\n${rows}`);
	const read = readTable(table, 'products.csv', TABLES['products.csv']);
	// Blank rows are none.
	expect(read.ok ? read.value.rows : []).toEqual([]);
});

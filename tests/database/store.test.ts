import { createHash } from 'node:crypto';
import { sql } from 'drizzle-orm';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { recordTestRoast } from '#lib/server/commands/recordTestRoast.ts';
import { openDatabase } from '#lib/server/db/client.ts';
import { costRate, roastLog } from '#lib/server/db/schema.ts';
import { loadLogsByHash } from '#lib/server/store/intake.ts';
import { loadLog, loadLogBytes } from '#lib/server/store/logs.ts';
import { findLot, loadLots } from '#lib/server/store/lots.ts';
import { findTest } from '#lib/server/store/tests.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, rowCounts, type TestDatabase } from '#support/database.ts';
import {
	arrivedLot,
	demoLog,
	done,
	lotInput,
	RATE,
	SETTINGS,
	setUpRoastery
} from '#support/smallRoastery.ts';

/** What is written is read back as it was, also by the next process. */

const NOW = Date.UTC(2026, 10, 25, 9);

let db: TestDatabase;
let act: Act;
let logId: number;
const file = demoLog('tests/HR-133-test-1.csv');

beforeAll(async () => {
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Ana') };
	const { roasterId } = await setUpRoastery(act);
	const lotId = await arrivedLot(act, 'A-1');
	const plan = { lotId, plannedAt: NOW, purpose: 'First', change: '', roasterId };
	const { testBatchId } = done(
		await perform(act, (deed) => planTest(deed, { ...plan, settings: SETTINGS }))
	);
	const roast = { testBatchId, roastedAt: NOW, chargeG: 10_000, outG: 8_500, note: '', file };
	done(await perform(act, (deed) => recordTestRoast(deed, roast)));
	logId = (await findTest(db.database.orm, 'A-1', 1))!.roast!.logId!;
});
afterAll(() => db.remove());

it('keeps a log’s columns to the precision of Float32, with its marks', async () => {
	const loaded = (await loadLog(db.database.orm, logId))!;
	expect(loaded.kind).toBe('drum');
	expect(loaded.marks).toEqual(file.log.marks);
	expect(Object.keys(loaded.channels).sort()).toEqual(Object.keys(file.log.channels).sort());
	expect(loaded.timeS).toEqual(Float64Array.from(Float32Array.from(file.log.timeS)));
	for (const [name, values] of Object.entries(file.log.channels))
		expect(loaded.channels[name as 'beanC']).toEqual(Float64Array.from(Float32Array.from(values)));
});

it('keeps the file of a log byte for byte, found by its SHA-256', async () => {
	const kept = (await loadLogBytes(db.database.orm, logId))!;
	expect(Buffer.compare(Buffer.from(kept.bytes), Buffer.from(file.bytes))).toBe(0);
	const hash = createHash('sha256').update(file.bytes).digest('hex');
	const known = await loadLogsByHash(db.database.orm, [hash, '0'.repeat(64)]);
	expect([...known.values()]).toMatchObject([{ sha256: hash, lotCode: 'A-1', testNumber: 1 }]);
	const rows = await db.database.orm.select({ rows: roastLog.rows }).from(roastLog);
	expect(rows).toEqual([{ rows: file.log.timeS.length }]);
});

it('keeps settings and times of a test as they were given', async () => {
	const test = (await findTest(db.database.orm, 'A-1', 1))!;
	expect(test.batch.settings).toEqual(SETTINGS);
	expect(test.roast).toMatchObject({ roastedAt: NOW, chargeG: 10_000, outG: 8_500, by: 'Ana' });
	expect(await findTest(db.database.orm, 'A-1', 2)).toBeNull();
	expect(await findLot(db.database.orm, 'NONE')).toBeNull();
});

it('refuses a row that refers to nothing', async () => {
	const lost = db.database.write((tx) => tx.insert(costRate).values({ ...RATE, roasterId: 99 }));
	await expect(lost).rejects.toThrow();
});

it('opened again, has the same rows and nothing to migrate', async () => {
	const before = await rowCounts(db.database);
	const again = await openDatabase({ url: db.url });
	expect(await rowCounts(again)).toEqual(before);
	const mode = await again.orm.get<{ journal_mode: string }>(sql`PRAGMA journal_mode`);
	expect(mode.journal_mode).toBe('wal');
	await again.close();
});

it('lists codes in their order, whatever the order they came in', async () => {
	for (const code of ['C-3', 'B-2'])
		done(await perform(act, (deed) => createLot(deed, lotInput(code))));
	expect((await loadLots(db.database.orm)).map((lot) => lot.code)).toEqual(['A-1', 'B-2', 'C-3']);
});

import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { sql } from 'drizzle-orm';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import { copyDatabase } from '#lib/server/backup/copy.ts';
import { exportRecords, importRecords, recordSums } from '#lib/server/backup/plain.ts';
import { restoreDatabase } from '#lib/server/backup/restore.ts';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { openDatabase, type Database } from '#lib/server/db/client.ts';
import { makeBackup } from '#lib/server/jobs/backingUp.ts';
import { loadLots } from '#lib/server/store/lots.ts';
import { owner } from '#support/actors.ts';
import { rowCounts } from '#support/database.ts';
import { startStandIn, type StandIn, type StandInOptions } from '#support/libsql/server.ts';
import { done, lotInput, setUpRoastery } from '#support/smallRoastery.ts';

/** A database on a server that goes away, is slow or takes back what went on for too long (db/client.ts, rule 3). */

const NOW = Date.UTC(2026, 10, 25, 9);
const TOKEN = 'right';

let folder: string;
let running: StandIn[];
let opened: Database[];

beforeEach(() => {
	vi.spyOn(console, 'error').mockImplementation(() => undefined);
	folder = mkdtempSync(join(tmpdir(), 'trierbook-server-'));
	running = [];
	opened = [];
});
afterEach(async () => {
	vi.restoreAllMocks();
	for (const each of running) await each.kill();
	for (const each of opened) await each.close();
	rmSync(folder, { recursive: true, force: true });
});

async function serve(options: Partial<StandInOptions> = {}): Promise<StandIn> {
	const standIn = await startStandIn({ folder, token: TOKEN, ...options });
	running.push(standIn);
	return standIn;
}

async function open(standIn: StandIn, patienceMs?: number): Promise<Act> {
	const database = await openDatabase({ url: standIn.url('a'), patienceMs });
	opened.push(database);
	return { database, now: NOW, actor: owner('Nell') };
}

/** A roastery on a server with other limits than the one that it was made on. */
async function roasteryOn(options: Partial<StandInOptions>, patienceMs?: number): Promise<Act> {
	await setUpRoastery(await open(await serve()));
	return open(await serve(options), patienceMs);
}

function problemOf(outcome: { ok: boolean; problems?: readonly Problem[] }): Problem {
	expect(outcome.ok).toBe(false);
	expect(outcome.problems).toHaveLength(1);
	return outcome.problems![0]!;
}

const codes = async ({ database }: Act) => (await loadLots(database.orm)).map(({ code }) => code);

describe('opening', () => {
	it('needs the right token, in the address or beside it', async () => {
		const url = (await serve()).url('a');
		const bare = url.replace(/\?.*/, '');
		for (const authToken of [undefined, 'wrong']) {
			const refused = openDatabase({ url: bare, authToken });
			await expect(refused).rejects.toThrow(
				/refused to be opened; see its log, and DATABASE_TOKEN/
			);
			await expect(refused).rejects.not.toThrow(/wrong/);
		}
		opened.push(await openDatabase({ url: bare, authToken: TOKEN }));
		expect(Object.values(await rowCounts(opened[0]!)).every((rows) => rows === 0)).toBe(true);
	});

	it('says so when nobody answers', async () => {
		const standIn = await serve();
		await standIn.kill();
		await expect(openDatabase({ url: standIn.url('a') })).rejects.toThrow(
			/The database server at 127\.0\.0\.1:\d+ does not answer/
		);
	});
});

describe('a server that goes away', () => {
	it('in the middle of an act: it is said, nothing is half done, and it works again after', async () => {
		const standIn = await serve();
		const act = await open(standIn);
		await setUpRoastery(act);
		const before = await rowCounts(act.database);
		const outcome = await perform(act, async (deed) => {
			done(await createLot(deed, lotInput('L-1')));
			await standIn.kill();
			return createLot(deed, lotInput('L-2'));
		});
		expect(problemOf(outcome)).toMatchObject({ path: 'database' });
		expect(problemOf(outcome).message).toMatch(/does not answer.*Nothing was recorded/);
		expect(await rowCounts((await open(await serve())).database)).toEqual(before);
	});

	it('during the commit: that it is not known is said, not that nothing was recorded', async () => {
		const standIn = await serve();
		const act = await open(standIn);
		await setUpRoastery(act);
		const outcome = await perform(act, async (deed) => {
			const made = await createLot(deed, lotInput('L-1'));
			await standIn.kill();
			return made;
		});
		expect(problemOf(outcome).message).toMatch(/Look whether it is there before you send it again/);
		expect(problemOf(outcome).message).not.toContain('Nothing was recorded');
	});
});

it('a slow server is waited for, up to a limit', async () => {
	const patient = await roasteryOn({ delayMs: 20 });
	done(await perform(patient, (deed) => createLot(deed, lotInput('L-1'))));
	const standIn = await serve({ delayMs: 20 });
	const impatient = await open(standIn);
	const late = await serve({ delayMs: 60_000 });
	await expect(openDatabase({ url: late.url('a'), patienceMs: 50 })).rejects.toThrow(
		/does not answer/
	);
	expect(await codes(impatient)).toEqual(['L-1']);
});

it('an act that waits for longer than a stream lives is taken back, and that is said', async () => {
	const act = await roasteryOn({ limits: { idleMs: 30 } });
	const outcome = await perform(act, async (deed) => {
		const made = await createLot(deed, lotInput('L-1'));
		await new Promise((resolve) => setTimeout(resolve, 200));
		return made.ok ? createLot(deed, lotInput('L-2')) : made;
	});
	expect(problemOf(outcome).message).toMatch(/went on for too long.*Nothing was recorded/);
	expect(await codes(act)).toEqual([]);
	done(await perform(act, (deed) => createLot(deed, lotInput('L-3'))));
	expect(await codes(act)).toEqual(['L-3']);
});

it('one who writes for too long loses to one who waits, and the other is kept', async () => {
	const standIn = await serve({ limits: { transactionMs: 50 } });
	const slow = await open(standIn);
	await setUpRoastery(slow);
	const quick = await open(standIn);
	let other: Promise<unknown> = Promise.resolve();
	const outcome = await perform(slow, async (deed) => {
		done(await createLot(deed, lotInput('SLOW')));
		other = perform(quick, (of) => createLot(of, lotInput('QUICK'))).then(done);
		await other;
		return createLot(deed, lotInput('SLOW-2'));
	});
	expect(problemOf(outcome).message).toMatch(/went on for too long.*Nothing was recorded/);
	await other;
	expect(await codes(slow)).toEqual(['QUICK']);
});

it('writers of several connections wait for each other: each of their acts is kept', async () => {
	const standIn = await serve();
	const acts = [await open(standIn), await open(standIn), await open(standIn)];
	await setUpRoastery(acts[0]!);
	await Promise.all(
		acts.flatMap((act, who) =>
			[1, 2, 3, 4].map(async (i) =>
				done(await perform(act, (deed) => createLot(deed, lotInput(`W${who}-${i}`))))
			)
		)
	);
	expect(await codes(acts[0]!)).toHaveLength(12);
});

it('is copied and restored where it runs; its records come out and go in as text', async () => {
	// So low a limit that the tables come in several answers.
	const standIn = await serve({ limits: { maxBytes: 20_000 } });
	const act = await open(standIn);
	await setUpRoastery(act);
	for (let i = 0; i < 9; i++)
		done(
			await perform(act, (deed) => createLot(deed, lotInput(`L-${i}`, { note: 'x'.repeat(5000) })))
		);
	const url = standIn.url('a');
	const copied = await copyDatabase(url, join(folder, 'copy.db'));
	expect(problemOf(copied).message).toMatch(/on a server: copy it there, or take `npm run export`/);
	expect(problemOf(await makeBackup(act, url)).message).toMatch(/on a server/);
	expect(problemOf(await restoreDatabase(url, 'x.db', 'NO')).message).toMatch(/restore it there/);
	const manifest = done(await exportRecords({ url }, join(folder, 'plain')));
	expect(manifest.tables).toEqual(await recordSums(url));
	expect(readFileSync(join(folder, 'plain/lot.jsonl'), 'utf8').split('\n')).toHaveLength(10);
	const fresh = standIn.url('b');
	await (await openDatabase({ url: fresh })).close();
	done(await importRecords({ url: fresh }, join(folder, 'plain')));
	expect(await recordSums(fresh)).toEqual(manifest.tables);
});

it('what the server refuses of one connection is refused here too', async () => {
	const { orm } = (await open(await serve())).database;
	for (const statement of ['PRAGMA journal_mode = WAL', 'ATTACH ? AS other', 'VACUUM INTO ?'])
		await expect(orm.run(sql.raw(statement.replace('?', `'x.db'`)))).rejects.toMatchObject({
			cause: { code: 'SQL_PARSE_ERROR' }
		});
});

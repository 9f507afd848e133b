import { execFile } from 'node:child_process';
import {
	appendFileSync,
	cpSync,
	existsSync,
	mkdirSync,
	mkdtempSync,
	readFileSync,
	readdirSync,
	rmSync,
	statSync,
	writeFileSync
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { getTableColumns, getTableName, is } from 'drizzle-orm';
import { SQLiteTable } from 'drizzle-orm/sqlite-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { copyDatabase } from '#lib/server/backup/copy.ts';
import { inspectDatabase } from '#lib/server/backup/inspect.ts';
import { dropOldBackups, findBackup, listBackups } from '#lib/server/backup/names.ts';
import { exportRecords, importRecords, recordSums } from '#lib/server/backup/plain.ts';
import { restoreDatabase } from '#lib/server/backup/restore.ts';
import { connect } from '#lib/server/backup/stored.ts';
import { isSecret } from '#lib/server/backup/secrets.ts';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { makeToken } from '#lib/server/commands/changeOwnAccount.ts';
import { inviteBack, invitePerson } from '#lib/server/commands/invitePerson.ts';
import { acceptInvitation, setUpOwner } from '#lib/server/commands/makeAccount.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { recordSample } from '#lib/server/commands/recordSample.ts';
import { signIn } from '#lib/server/commands/signIn.ts';
import { openDatabase } from '#lib/server/db/client.ts';
import * as schema from '#lib/server/db/schema.ts';
import { apiToken, invitation, session, user } from '#lib/server/db/schema.ts';
import { findUser } from '#lib/server/store/people.ts';
import { makeBackup } from '#lib/server/jobs/backingUp.ts';
import { owner, someone } from '#support/actors.ts';
import { newDatabase, rowCounts, type TestDatabase } from '#support/database.ts';
import { arrivedLot, demoLog, done, lotInput, setUpRoastery } from '#support/smallRoastery.ts';
import { productionEnv, ROOT } from '../../src/cli/support/build.ts';

/** Copies of every record, and back. */

const NOW = Date.UTC(2026, 10, 25, 9);

let db: TestDatabase;
let folder: string;
let act: Act;

beforeAll(async () => {
	folder = mkdtempSync(join(tmpdir(), 'trierbook-backup-'));
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Nell') };
	await setUpRoastery(act);
	const lotId = await arrivedLot(act, 'A-1');
	const file = demoLog('samples/HR-133-arrival.csv');
	const about = {
		...{ lotId, stage: 'arrival' as const, roastedAt: NOW - 3_600_000, chargeG: 100, outG: 86 },
		...{ airFlowGS: null, sensorLagS: null, earCrackS: null, note: '' }
	};
	done(await perform(act, (deed) => recordSample(deed, { ...about, file })));
});
afterAll(async () => {
	await db.remove();
	rmSync(folder, { recursive: true, force: true });
});

const at = (name: string) => join(folder, name);
const said = (outcome: { ok: boolean; problems?: readonly { message: string }[] }) =>
	outcome.problems?.map(({ message }) => message).join(' ') ?? '';

it('a copy holds every row and the newest act, and opens as a database', async () => {
	const copied = done(await copyDatabase(db.url, at('copy.db')));
	expect(copied.rows).toEqual(await rowCounts(db.database));
	expect(copied.newest?.act).toBe('record sample');
	expect(await recordSums(`file:${at('copy.db')}`)).toEqual(await recordSums(db.url));
	expect(statSync(at('copy.db')).mode & 0o777).toBe(0o600);
	const opened = await openDatabase({ url: `file:${at('copy.db')}` });
	await opened.close();
});

it('a copy never overwrites, and says why there is none', async () => {
	writeFileSync(at('there.db'), 'mine');
	expect(said(await copyDatabase(db.url, at('there.db')))).toContain('is there already');
	expect(readFileSync(at('there.db'), 'utf8')).toBe('mine');
	expect(said(await copyDatabase('http://127.0.0.1:1', at('x.db')))).toContain('npm run export');
	expect(said(await copyDatabase(db.url, at('no/such/x.db')))).toContain('could not be written');
	expect(existsSync(at('x.db'))).toBe(false);
});

it('acts go on while copies are made, and each copy is of one moment', async () => {
	const linesBefore = (await rowCounts(db.database))['audit']!;
	const codes = Array.from({ length: 30 }, (_, i) => `W-${i}`);
	const writing = codes.map((code) =>
		perform(act, (deed) => createLot(deed, lotInput(code))).then(done)
	);
	const made = makeBackup({ ...act, now: NOW + 1000 }, db.url).then(done);
	const copies = ['w1.db', 'w2.db', 'w3.db'].map((name) =>
		copyDatabase(db.url, at(name)).then((copied) => void done(copied))
	);
	await Promise.all([...copies, ...writing]);
	const { file } = await made;
	for (const path of [at('w1.db'), at('w2.db'), at('w3.db'), findBackup(db.url, file)!]) {
		const { rows } = done(await inspectDatabase(path));
		// Each of these acts writes one lot and one line; a copy that caught one without the other is torn.
		expect(rows['audit']! - rows['lot']!).toBe(linesBefore - 1);
	}
	expect(listBackups(db.url).map(({ name }) => name)).toEqual([file]);
});

it('only the owner makes a backup, and it is noted', async () => {
	const count = listBackups(db.url).length;
	for (const role of ['operations', 'viewer'] as const)
		expect((await makeBackup({ ...act, actor: someone(role) }, db.url)).ok).toBe(false);
	expect(listBackups(db.url)).toHaveLength(count);
	const client = connect(db.url);
	const { rows } = await client.execute("SELECT count(*) n FROM audit WHERE act = 'make backup'");
	expect(rows[0]!['n']).toBe(count);
	client.close();
});

it('a name from outside leads to a copy of ours or nowhere', () => {
	for (const name of ['../test.db', 'test.db', '/etc/passwd', 'trierbook-20261125T090001Z.db/..'])
		expect(findBackup(db.url, name)).toBe(null);
});

it('a copy is restored, and what it replaces is kept', async () => {
	done(await copyDatabase(db.url, at('good.db')));
	// A database that no connection of this process has seen.
	cpSync(at('copy.db'), at('live.db'));
	const before = await recordSums(`file:${at('copy.db')}`);
	const restored = done(await restoreDatabase(`file:${at('live.db')}`, at('good.db'), 'STAMP'));
	expect(restored.kept).toBe(`${at('live.db')}.before-STAMP`);
	expect(await recordSums(`file:${restored.kept}`)).toEqual(before);
	expect(await recordSums(`file:${at('live.db')}`)).toEqual(
		await recordSums(`file:${at('good.db')}`)
	);
	const nowhere = done(await restoreDatabase(`file:${at('new/live.db')}`, at('good.db'), 'STAMP'));
	expect(nowhere.kept).toBe(null);
});

it('a damaged, cut off, foreign or newer file is refused and nothing is replaced', async () => {
	const good = readFileSync(at('good.db'));
	const damaged = Buffer.from(good);
	damaged.fill(0xa5, Math.floor(good.length / 2), Math.floor(good.length / 2) + 9000);
	writeFileSync(at('damaged.db'), damaged);
	writeFileSync(at('cut.db'), good.subarray(0, Math.floor(good.length / 3)));
	writeFileSync(at('text.db'), 'code,name\nA-1,Lot');
	writeFileSync(at('empty.db'), '');
	const other = connect(`file:${at('other.db')}`);
	await other.execute('CREATE TABLE audit (id INTEGER PRIMARY KEY)');
	other.close();
	cpSync(at('good.db'), at('newer.db'));
	const newer = connect(`file:${at('newer.db')}`);
	await newer.execute("INSERT INTO __drizzle_migrations (hash, created_at) VALUES ('x', 9e12)");
	newer.close();
	cpSync(at('good.db'), at('lost.db'));
	const lost = connect(`file:${at('lost.db')}`);
	await lost.executeMultiple('PRAGMA foreign_keys = OFF; DELETE FROM lot;');
	lost.close();
	cpSync(at('good.db'), at('target.db'));
	const refusals: Record<string, RegExp> = {
		'damaged.db': /damaged/,
		'cut.db': /damaged/,
		'text.db': /no SQLite database/,
		'empty.db': /no SQLite database/,
		'other.db': /no database of Trierbook/,
		'newer.db': /newer version/,
		'lost.db': /refer to others/,
		'missing.db': /Found no file/,
		'target.db': /the database itself/
	};
	for (const [name, words] of Object.entries(refusals)) {
		const outcome = await restoreDatabase(`file:${at('target.db')}`, at(name), 'NO');
		expect(outcome.ok, name).toBe(false);
		expect(said(outcome)).toMatch(words);
		expect(said(outcome)).not.toContain('.incoming');
	}
	expect(readFileSync(at('target.db')).equals(good)).toBe(true);
	expect(existsSync(`${at('target.db')}.before-NO`)).toBe(false);
	expect(existsSync(`${at('target.db')}.incoming`)).toBe(false);
});

it('a database that is open is not replaced', async () => {
	const outcome = await restoreDatabase(db.url, at('good.db'), 'NO');
	expect(said(outcome)).toContain('stop it, then restore');
	expect((await rowCounts(db.database))['lot']).toBe(31);
}, 20_000);

it('plain text goes into an empty database with the same sums', async () => {
	const manifest = done(await exportRecords({ url: db.url }, at('plain'), { secrets: true }));
	expect(manifest.tables['lot']!.rows).toBe(31);
	expect(manifest.tables['roast_log_column']!.rows).toBeGreaterThan(0);
	const other = await newDatabase();
	done(await importRecords({ url: other.url }, at('plain')));
	expect(await recordSums(other.url)).toEqual(manifest.tables);
	expect(await recordSums(other.url)).toEqual(await recordSums(db.url));
	const again = await importRecords({ url: other.url }, at('plain'));
	expect(said(again)).toContain('expected an empty one');
	// The next record takes the number that it would have taken in the first database.
	const next = (database: TestDatabase['database']) =>
		perform({ ...act, database }, (deed) => createLot(deed, lotInput('NEXT'))).then(done);
	expect(await next(other.database)).toEqual(await next(db.database));
	await other.remove();
});

it('plain text that was changed, cut off or lacks a file leaves the database empty', async () => {
	const other = await newDatabase();
	const lots = readFileSync(at('plain/lot.jsonl'), 'utf8');
	const wrong: Record<string, () => void> = {
		'the sum': () => writeFileSync(at('plain/lot.jsonl'), lots.replace('Lot W-3', 'Lot W-4')),
		'fewer rows|rows with the sum': () =>
			writeFileSync(at('plain/lot.jsonl'), lots.split('\n').slice(0, -2).join('\n')),
		'At line': () => appendFileSync(at('plain/lot.jsonl'), '{"id": 99'),
		'is missing': () => rmSync(at('plain/lot.jsonl'))
	};
	for (const [words, spoil] of Object.entries(wrong)) {
		writeFileSync(at('plain/lot.jsonl'), lots);
		spoil();
		const outcome = await importRecords({ url: other.url }, at('plain'));
		expect(said(outcome)).toMatch(new RegExp(words));
		expect(Object.values(await rowCounts(other.database)).every((rows) => rows === 0)).toBe(true);
	}
	expect(said(await importRecords({ url: other.url }, folder))).toContain('npm run export');
	await other.remove();
});

it('an export leaves out what lets somebody in, and still comes in with the sums it states', async () => {
	const source = await newDatabase();
	const at1 = { database: source.database, now: act.now };
	const who = { login: 'nell', name: 'Nell', password: 'a long way to release', browser: 'test' };
	done(await setUpOwner(at1, who));
	const { id: userId } = (await findUser(source.database.orm, 'nell'))!;
	const nell: Act = { ...at1, actor: { userId, name: 'Nell', role: 'owner' } };
	await setUpRoastery(nell);
	done(await perform(nell, (deed) => makeToken(deed, { name: 'x', scope: 'all', days: 30 })));
	done(await perform(nell, (deed) => invitePerson(deed, { name: 'Mo', role: 'viewer' })));
	await source.database.orm.update(user).set({ totpSecret: 'JBSWY3DPEHPK3PXP' });
	const manifest = done(await exportRecords({ url: source.url }, at('no-secrets')));
	expect(manifest.secrets).toBe(false);
	const { password } = (await findUser(source.database.orm, 'nell'))!;
	const written = readdirSync(at('no-secrets')).map((name) =>
		readFileSync(join(at('no-secrets'), name), 'utf8')
	);
	for (const secret of [password, 'JBSWY3DPEHPK3PXP', await hashes(source)].flat())
		expect(written.join('')).not.toContain(secret);
	const other = await newDatabase();
	done(await importRecords({ url: other.url }, at('no-secrets')));
	expect(await recordSums(other.url)).toEqual(manifest.tables);
	const all = await recordSums(source.url);
	const changed = Object.keys(all).filter(
		(name) => all[name]!.sha256 !== manifest.tables[name]!.sha256
	);
	expect(changed.sort()).toEqual(['api_token', 'invitation', 'session', 'user']);
	// The account is there and opens to nobody, until it is let back in.
	const there = { database: other.database, now: act.now };
	const from = { code: '', address: '192.0.2.7', browser: 'test' };
	for (const password of ['none', '', who.password])
		expect((await signIn(there, { login: 'nell', password, ...from })).ok).toBe(false);
	const back = done(await perform({ ...nell, ...there }, (deed) => inviteBack(deed, userId)));
	const again = { login: 'nell', name: 'Nell', password: 'another long way', browser: 'test' };
	done(await acceptInvitation(there, back.secret, again));
	await Promise.all([source.remove(), other.remove()]);
});

/** What is kept of every secret of a database. */
async function hashes({ database: { orm } }: TestDatabase): Promise<string[]> {
	const rows = await Promise.all(
		[session, apiToken, invitation].map((table) => orm.select({ hash: table.hash }).from(table))
	);
	const found = rows.flat().map(({ hash }) => hash);
	expect(found).toHaveLength(3);
	return found;
}

it('every column that sounds like a way in is one that an export leaves out, or is known not to be', () => {
	const NOT_ONE = [
		'roast_log.sha256',
		'intake_file.sha256',
		'live_log.sha256',
		'live_log_chunk.sha256'
	];
	const tables = Object.values(schema).filter((each) => is(each, SQLiteTable));
	const sounding = tables.flatMap((table) =>
		Object.values(getTableColumns(table)).flatMap(({ name }) =>
			/hash|sha256|secret|password|totp|token|public_key|credential|challenge/.test(name)
				? [[getTableName(table), name] as const]
				: []
		)
	);
	expect(sounding.length).toBeGreaterThan(8);
	const exported = sounding.filter(([table, column]) => !isSecret(table, column));
	expect(exported.map((each) => each.join('.')).filter((name) => !NOT_ONE.includes(name))).toEqual(
		[]
	);
});

it('so many backups are kept, the oldest go first and the newest never', () => {
	const url = `file:${at('kept/live.db')}`;
	const names = [1, 2, 3, 4].map((day) => `trierbook-2026110${day}T000000Z.db`);
	mkdirSync(at('kept/backups'), { recursive: true });
	for (const name of [...names, 'trierbook-of-mine.db', 'notes.txt'])
		writeFileSync(join(at('kept/backups'), name), 'x');
	expect(dropOldBackups(url, 9)).toEqual([]);
	expect(dropOldBackups(url, 2)).toEqual([names[0], names[1]]);
	expect(dropOldBackups(url, 1)).toEqual([names[2]]);
	expect(() => dropOldBackups(url, 0)).toThrow(RangeError);
	expect(readdirSync(at('kept/backups')).sort()).toEqual([
		...['notes.txt', names[3]!, 'trierbook-of-mine.db']
	]);
});

it('the commands do it from the shell', async () => {
	const run = promisify(execFile);
	const env = productionEnv({ DATABASE_URL: `file:${at('live.db')}` });
	const command = (name: string, ...args: string[]) =>
		run(process.execPath, [join(ROOT, `src/cli/${name}.ts`), ...args], { env, cwd: ROOT });
	expect((await command('backup', at('cli.db'))).stdout).toContain('opened and whole; newest act');
	expect((await command('restore', at('good.db'))).stdout).toContain('is kept as');
	await expect(command('restore', at('damaged.db'))).rejects.toMatchObject({ code: 1 });
}, 60_000);

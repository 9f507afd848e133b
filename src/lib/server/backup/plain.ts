import { createHash } from 'node:crypto';
import {
	createReadStream,
	existsSync,
	mkdirSync,
	readdirSync,
	readFileSync,
	writeFileSync
} from 'node:fs';
import { open, type FileHandle } from 'node:fs/promises';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import type { Client, InValue, ResultSet, Row, Transaction } from '@libsql/client';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { isLeftOut, withoutSecrets } from './secrets.ts';
import { connect, countRows, ownSchemaSteps, quoted, schemaSteps, tableNames } from './stored.ts';

/**
 * Every record as plain text. Rules:
 * 1. A folder holds `manifest.json` and one file a table, `NAME.jsonl`: a line a row, in the order in which
 *    they were written, as JSON with the columns by name. Bytes are `{"base64": "…"}`.
 * 2. The manifest states each table's rows and the SHA-256 of its file; one read of one moment makes all.
 * 3. What lets somebody in is left out unless it is asked for (secrets.ts); the manifest says so, and its sums are
 *    of what was written.
 * 4. It comes into an empty database alone, all or nothing, and only when the sums that the new database
 *    gives are those of the manifest.
 */
export interface TableSum {
	readonly rows: number;
	/** SHA-256 of the table's file, hexadecimal. */
	readonly sha256: string;
}

export interface Manifest {
	readonly format: 'trierbook-records';
	readonly version: 1;
	/** When each migration of the schema was written, UTC milliseconds. */
	readonly schema: readonly number[];
	/** Whether what lets somebody in is among it. */
	readonly secrets: boolean;
	readonly tables: Readonly<Record<string, TableSum>>;
	/** The highest number that each table has given out. */
	readonly numbers: Readonly<Record<string, number>>;
}

/** Rows read or written at a time. */
const PAGE = 500;

/** Writes every record into a folder, which must be new or empty (rules 1 to 3). */
export async function exportRecords(
	db: { readonly url: string; readonly authToken?: string | undefined },
	folder: string,
	{ secrets = false }: { readonly secrets?: boolean } = {}
): Promise<Outcome<Manifest>> {
	if (existsSync(folder) && readdirSync(folder).length > 0)
		return bad({ path: 'folder', message: `${folder} is not empty; nothing was written.` });
	mkdirSync(folder, { recursive: true });
	return reading(connect(db.url, db.authToken), async (tx) => {
		const tables: Record<string, TableSum> = {};
		for (const name of await tableNames(tx)) {
			const file = await open(join(folder, `${name}.jsonl`), 'wx', 0o600);
			try {
				tables[name] = await sumOf(tx, name, file, secrets);
				await file.sync();
			} finally {
				await file.close();
			}
		}
		const manifest: Manifest = {
			format: 'trierbook-records',
			version: 1,
			schema: await schemaSteps(tx),
			secrets,
			tables,
			numbers: await numbersOf(tx)
		};
		writeFileSync(join(folder, 'manifest.json'), `${JSON.stringify(manifest, null, '\t')}\n`, {
			mode: 0o600
		});
		return good(manifest);
	});
}

/** Sums of every table as they would be exported with all that is in it. */
export async function recordSums(url: string): Promise<Record<string, TableSum>> {
	return reading(connect(url), async (tx) => {
		const sums: Record<string, TableSum> = {};
		for (const name of await tableNames(tx)) sums[name] = await sumOf(tx, name, null, true);
		return sums;
	});
}

async function reading<T>(client: Client, work: (tx: Transaction) => Promise<T>): Promise<T> {
	const tx = await client.transaction('read');
	try {
		return await work(tx);
	} finally {
		tx.close();
		client.close();
	}
}

/** Goes through a table in the order of its rows, writes each as a line and sums the lines. */
async function sumOf(
	tx: Transaction,
	name: string,
	file: FileHandle | null,
	secrets: boolean
): Promise<TableSum> {
	const hash = createHash('sha256');
	if (!secrets && isLeftOut(name)) return { rows: 0, sha256: hash.digest('hex') };
	let rows = 0;
	for (let last = Number.MIN_SAFE_INTEGER; ;) {
		const page = await pageAfter(tx, name, last, PAGE);
		if (page.rows.length === 0) break;
		const columns = page.columns.slice(1);
		const text = page.rows.map((row) => `${lineOf(name, columns, row, secrets)}\n`).join('');
		hash.update(text);
		await file?.writeFile(text);
		rows += page.rows.length;
		last = Number(page.rows.at(-1)![0]);
	}
	return { rows, sha256: hash.digest('hex') };
}

/** The next rows of a table; fewer where a server refuses so large an answer. */
async function pageAfter(
	tx: Transaction,
	name: string,
	last: number,
	rows: number
): Promise<ResultSet> {
	try {
		return await tx.execute({
			sql: `SELECT rowid AS "row number", * FROM ${quoted(name)} WHERE rowid > ? ORDER BY rowid LIMIT ${rows}`,
			args: [last]
		});
	} catch (error) {
		const isTooLarge = (error as { code?: unknown }).code === 'RESPONSE_TOO_LARGE';
		if (!isTooLarge || rows === 1) throw error;
		return pageAfter(tx, name, last, Math.ceil(rows / 8));
	}
}

function lineOf(name: string, columns: readonly string[], row: Row, secrets: boolean): string {
	const values = columns.map((column, i) => [column, plainValue(row[i + 1])] as const);
	const whole = Object.fromEntries(values);
	return JSON.stringify(secrets ? whole : withoutSecrets(name, whole));
}

function plainValue(value: unknown): unknown {
	if (value instanceof ArrayBuffer) return { base64: Buffer.from(value).toString('base64') };
	if (typeof value === 'number' && !Number.isFinite(value))
		throw new Error(`A record holds ${value}, which plain text can't.`);
	return value;
}

async function numbersOf(tx: Transaction): Promise<Record<string, number>> {
	const { rows } = await tx.execute(
		`SELECT name, seq FROM sqlite_sequence WHERE name <> '__drizzle_migrations' ORDER BY name`
	);
	return Object.fromEntries(rows.map(({ name, seq }) => [String(name), Number(seq)]));
}

/** Takes an export into an empty database of this schema (rule 4). */
export async function importRecords(
	db: { readonly url: string; readonly authToken?: string | undefined },
	folder: string
): Promise<Outcome<Manifest>> {
	const manifest = readManifest(folder);
	if (!manifest.ok) return manifest;
	const client = connect(db.url, db.authToken);
	const tx = await client.transaction('write');
	try {
		const full = Object.entries(await countRows(tx)).filter(([, rows]) => rows > 0);
		if (full.length > 0) return bad(notEmpty(full.map(([name]) => name)));
		await tx.execute('PRAGMA defer_foreign_keys = ON');
		const problems = await takeIn(tx, folder, manifest.value);
		if (problems.length > 0) return bad(...problems);
		await tx.commit();
		return manifest;
	} finally {
		tx.close();
		client.close();
	}
}

function notEmpty(tables: readonly string[]): Problem {
	return {
		path: 'database',
		message: `The database holds records already (${tables.slice(0, 3).join(', ')}…), expected an empty one; nothing was changed.`
	};
}

function readManifest(folder: string): Outcome<Manifest> {
	const path = join(folder, 'manifest.json');
	const refused = (message: string) => bad({ path: 'manifest.json', message });
	if (!existsSync(path))
		return refused(`Found no ${path}, expected a folder made by npm run export.`);
	let manifest: Manifest;
	try {
		manifest = JSON.parse(readFileSync(path, 'utf8')) as Manifest;
	} catch {
		return refused(`${path} is no JSON.`);
	}
	if (manifest?.format !== 'trierbook-records' || manifest.version !== 1)
		return refused(`${path} is not of an export that this version reads.`);
	if (!Array.isArray(manifest.schema) || manifest.schema.join() !== ownSchemaSteps().join())
		return refused(
			'The export was made by another version of Trierbook; export it again with this one.'
		);
	return good(manifest);
}

async function takeIn(tx: Transaction, folder: string, manifest: Manifest): Promise<Problem[]> {
	const names = await tableNames(tx);
	const stated = Object.keys(manifest.tables).sort();
	if (names.join() !== stated.join())
		return [{ path: 'manifest.json', message: 'Its tables are not those of this database.' }];
	for (const name of names) {
		const problem = await takeTable(tx, folder, name);
		if (problem) return [problem];
	}
	for (const [name, seq] of Object.entries(manifest.numbers)) {
		await tx.execute({ sql: 'DELETE FROM sqlite_sequence WHERE name = ?', args: [name] });
		const args = [name, seq];
		await tx.execute({ sql: 'INSERT INTO sqlite_sequence (name, seq) VALUES (?, ?)', args });
	}
	return differences(tx, manifest);
}

async function takeTable(tx: Transaction, folder: string, name: string): Promise<Problem | null> {
	const path = join(folder, `${name}.jsonl`);
	if (!existsSync(path)) return { path: `${name}.jsonl`, message: 'The file is missing.' };
	const { rows } = await tx.execute(`PRAGMA table_info(${quoted(name)})`);
	const columns = rows.map((row) => String(row['name']));
	const sql = `INSERT INTO ${quoted(name)} (${columns.map(quoted).join(', ')}) VALUES (${columns.map(() => '?').join(', ')})`;
	let line = 0;
	let waiting: { sql: string; args: InValue[] }[] = [];
	try {
		for await (const text of createInterface({
			input: createReadStream(path),
			crlfDelay: Infinity
		})) {
			line++;
			waiting.push({ sql, args: argsOf(JSON.parse(text) as Record<string, unknown>, columns) });
			if (waiting.length < PAGE) continue;
			await tx.batch(waiting);
			waiting = [];
		}
		if (waiting.length > 0) await tx.batch(waiting);
		return null;
	} catch (error) {
		const reason = error instanceof Error ? error.message : String(error);
		return { path: `${name}.jsonl`, message: `At line ${line} or shortly before: ${reason}.` };
	}
}

function argsOf(row: Record<string, unknown>, columns: readonly string[]): InValue[] {
	return columns.map((column) => {
		const value = row[column];
		if (value === undefined) throw new Error(`Found no ${column}`);
		if (value === null || typeof value === 'string' || typeof value === 'number') return value;
		const base64 = (value as { base64?: unknown }).base64;
		if (typeof base64 === 'string') return Buffer.from(base64, 'base64');
		throw new Error(`${column} is neither text, number, bytes nor nothing`);
	});
}

/** What the new database sums to, beside what the manifest states. */
async function differences(tx: Transaction, manifest: Manifest): Promise<Problem[]> {
	const problems: Problem[] = [];
	for (const [name, stated] of Object.entries(manifest.tables)) {
		const found = await sumOf(tx, name, null, true);
		if (found.rows === stated.rows && found.sha256 === stated.sha256) continue;
		const message = `Found ${found.rows} rows with the sum ${found.sha256.slice(0, 12)}…, the manifest states ${stated.rows} with ${stated.sha256.slice(0, 12)}…; nothing was taken in.`;
		problems.push({ path: `${name}.jsonl`, message });
	}
	return problems;
}

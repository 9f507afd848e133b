import { closeSync, existsSync, openSync, readSync } from 'node:fs';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import {
	connect,
	countRows,
	newestAct,
	ownSchemaSteps,
	schemaSteps,
	type Asked,
	type NewestAct
} from './stored.ts';

/** What a database file was found to hold. */
export interface Inspected {
	/** Rows of each table by its name. */
	readonly rows: Readonly<Record<string, number>>;
	readonly newest: NewestAct | null;
	/** Migrations that this version of Trierbook has and the file has not: opening it adds them. */
	readonly stepsBehind: number;
}

/** The first bytes of every SQLite 3 database (its file format document, section 1.3). */
const MAGIC = 'SQLite format 3\0';

/**
 * Opens a database file and says whether it is whole and one of ours: the format, SQLite's own integrity
 * check, references between records, the migrations and the tables that they make. Changes nothing.
 * Problems name what was found.
 */
export async function inspectDatabase(file: string): Promise<Outcome<Inspected>> {
	if (!existsSync(file)) return refused(`Found no file ${file}.`);
	if (firstBytes(file) !== MAGIC)
		return refused(`${file} is no SQLite database, expected a copy made by npm run backup.`);
	const client = connect(`file:${file}`);
	try {
		const damage = await damageOf(client);
		if (damage !== null) return refused(`${file} is damaged: ${damage}.`);
		return await asOurs(client, file);
	} catch (error) {
		const reason = error instanceof Error ? error.message : String(error);
		return refused(`${file} is damaged or no database of Trierbook: ${reason}.`);
	} finally {
		client.close();
	}
}

function firstBytes(file: string): string {
	const handle = openSync(file, 'r');
	try {
		const bytes = Buffer.alloc(MAGIC.length);
		const read = readSync(handle, bytes, 0, MAGIC.length, 0);
		return bytes.toString('latin1', 0, read);
	} finally {
		closeSync(handle);
	}
}

async function damageOf(db: Asked): Promise<string | null> {
	const { rows } = await db.execute('PRAGMA integrity_check(3)');
	const said = rows.map((row) => String(Object.values(row)[0]));
	if (said.join() !== 'ok') return said.join('; ').replaceAll('\n', ' ');
	const lost = (await db.execute('PRAGMA foreign_key_check')).rows;
	return lost.length === 0 ? null : `${lost.length} records refer to others that are not there`;
}

async function asOurs(db: Asked, file: string): Promise<Outcome<Inspected>> {
	const [theirs, ours] = [await schemaSteps(db), ownSchemaSteps()];
	if (theirs.length === 0 || theirs.some((step, i) => i < ours.length && step !== ours[i]))
		return refused(`${file} has tables that are not those of Trierbook.`);
	if (theirs.length > ours.length)
		return refused(`${file} was written by a newer version of Trierbook; update this one first.`);
	const stepsBehind = ours.length - theirs.length;
	return good({ rows: await countRows(db), newest: await newestAct(db), stepsBehind });
}

function refused(message: string): Outcome<never> {
	return bad({ path: 'file', message });
}

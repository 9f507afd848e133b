import { constants, copyFileSync, existsSync, mkdirSync, renameSync, rmSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { inspectDatabase, type Inspected } from './inspect.ts';
import { connect, pathOf } from './stored.ts';

export interface Restored extends Inspected {
	/** Where the database that was replaced is kept; null where there was none. */
	readonly kept: string | null;
}

/** A database and what SQLite keeps beside it. */
const ENDS = ['', '-wal', '-shm'];

/**
 * Puts a copy in the place of an embedded database. The copy is inspected first, in the place where it will
 * be used, and refused when it is damaged or foreign; a database that a server still has open is refused;
 * the one that is replaced is kept beside it. Until the last step nothing has changed.
 * @param stamp goes into the name of the kept database, e.g. `20261125T150312Z`
 */
export async function restoreDatabase(
	url: string,
	file: string,
	stamp: string
): Promise<Outcome<Restored>> {
	const path = pathOf(url);
	if (path === null) return refused('The database is on a server: restore it there.');
	if (!existsSync(file)) return refused(`Found no file ${file}.`);
	if (resolve(file) === resolve(path)) return refused(`${file} is the database itself.`);
	mkdirSync(dirname(resolve(path)), { recursive: true });
	const incoming = `${path}.incoming`;
	try {
		copyFileSync(file, incoming);
		const inspected = await inspectDatabase(incoming);
		if (!inspected.ok)
			return bad(
				...inspected.problems.map(({ message, ...rest }) => ({
					...rest,
					message: message.replaceAll(incoming, file)
				}))
			);
		if (existsSync(path) && (await isInUse(url)))
			return refused(`A server has ${path} open; stop it, then restore.`);
		const kept = existsSync(path) ? setAside(path, stamp) : null;
		renameSync(incoming, path);
		return good({ ...inspected.value, kept });
	} finally {
		for (const end of ENDS) rmSync(incoming + end, { force: true });
	}
}

/**
 * Whether anyone has the database open: leaving write-ahead logging needs it alone. It also brings what the
 * log holds into the file. A file too damaged to say is nobody's.
 */
async function isInUse(url: string): Promise<boolean> {
	const client = connect(url);
	try {
		await client.execute('PRAGMA journal_mode = DELETE');
		return false;
	} catch (error) {
		return String((error as { code?: unknown }).code).startsWith('SQLITE_BUSY');
	} finally {
		client.close();
	}
}

function setAside(path: string, stamp: string): string {
	const kept = `${path}.before-${stamp}`;
	if (existsSync(kept)) throw new Error(`${kept} is there already.`);
	// Copied, not moved, so that the database is in its place up to the last step.
	for (const end of ENDS)
		if (existsSync(path + end)) copyFileSync(path + end, kept + end, constants.COPYFILE_EXCL);
	for (const end of ENDS.slice(1)) rmSync(path + end, { force: true });
	return kept;
}

function refused(message: string): Outcome<never> {
	return bad({ path: 'file', message });
}

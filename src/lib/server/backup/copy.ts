import { chmodSync, existsSync, renameSync, rmSync, statSync } from 'node:fs';
import { basename } from 'node:path';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { inspectDatabase, type Inspected } from './inspect.ts';
import { connect, newestAct, pathOf } from './stored.ts';

export interface Copied extends Inspected {
	/** Bytes of the copy. */
	readonly bytes: number;
}

/**
 * Writes a consistent copy of an embedded database while others read and write it, and opens it to see that
 * it is whole and holds every act that was there when copying began. The file appears under its name only
 * then; readable by its owner alone, since it holds everything. Refuses a file that is there already, and a
 * database on a server, which is copied where it runs or by an export.
 * @param url `file:…` address of the database
 */
export async function copyDatabase(url: string, target: string): Promise<Outcome<Copied>> {
	const path = pathOf(url);
	if (path === null)
		return bad(problem('The database is on a server: copy it there, or take `npm run export`.'));
	if (!existsSync(path)) return bad(problem(`Found no database at ${path}.`));
	if (existsSync(target)) return bad(problem(`${target} is there already; nothing was written.`));
	const partial = `${target}.partial`;
	rmSync(partial, { force: true });
	try {
		const before = await writeCopy(url, partial);
		chmodSync(partial, 0o600);
		const inspected = await inspectDatabase(partial);
		if (!inspected.ok) return inspected;
		if (before !== null && (inspected.value.newest?.id ?? 0) < before)
			return bad(problem('The copy lacks the newest acts; it was thrown away.'));
		renameSync(partial, target);
		return good({ ...inspected.value, bytes: statSync(target).size });
	} catch (error) {
		const reason = error instanceof Error ? error.message : String(error);
		return bad(problem(`${basename(target)} could not be written: ${reason}.`));
	} finally {
		rmSync(partial, { force: true });
	}
}

/** @returns the id of the newest act before copying began */
async function writeCopy(url: string, partial: string): Promise<number | null> {
	const client = connect(url);
	try {
		const newest = await newestAct(client);
		await client.execute({ sql: 'VACUUM INTO ?', args: [partial] });
		return newest?.id ?? null;
	} finally {
		client.close();
	}
}

function problem(message: string) {
	return { path: 'backup', message };
}

import { existsSync, readdirSync, rmSync, statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { pathOf } from './stored.ts';

/** `20261125T150312Z` of an instant in UTC milliseconds: ISO 8601, basic form. */
export function stampOf(now: number): string {
	return new Date(now).toISOString().replace(/[-:]|\.\d+/g, '');
}

/** The folder `backups` beside an embedded database; null for one on a server. */
export function backupFolder(url: string): string | null {
	const path = pathOf(url);
	return path === null ? null : join(dirname(path), 'backups');
}

export function backupName(now: number): string {
	return `trierbook-${stampOf(now)}.db`;
}

const NAME = /^trierbook-\d{8}T\d{6}Z\.db$/;

export interface BackupFile {
	readonly name: string;
	readonly bytes: number;
	/** UTC milliseconds. */
	readonly madeAt: number;
}

/** The copies in the folder, newest first. */
export function listBackups(url: string): BackupFile[] {
	const folder = backupFolder(url);
	if (folder === null || !existsSync(folder)) return [];
	return readdirSync(folder)
		.filter((name) => NAME.test(name))
		.sort()
		.reverse()
		.map((name) => {
			const { size, mtimeMs } = statSync(join(folder, name));
			return { name, bytes: size, madeAt: Math.round(mtimeMs) };
		});
}

/**
 * Removes the oldest copies in the folder, so that `keep` are left; what is no copy of ours stays. Call it
 * after a copy was made and found whole: that one is the newest.
 * @returns the names of those removed, oldest first
 * @throws RangeError when not even one is to be kept
 */
export function dropOldBackups(url: string, keep: number): string[] {
	if (!(keep >= 1)) throw new RangeError(`keeps at least one backup, found ${keep}`);
	const old = listBackups(url).slice(keep).reverse();
	for (const { name } of old) rmSync(join(backupFolder(url)!, name));
	return old.map(({ name }) => name);
}

/** The path of a copy by its name; null when there is none of that name. */
export function findBackup(url: string, name: string): string | null {
	const folder = backupFolder(url);
	if (folder === null || !NAME.test(name)) return null;
	const path = join(folder, name);
	return existsSync(path) ? path : null;
}

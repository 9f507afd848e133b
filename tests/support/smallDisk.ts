import { execFileSync } from 'node:child_process';
import {
	mkdirSync,
	mkdtempSync,
	readdirSync,
	rmSync,
	statfsSync,
	statSync,
	writeFileSync
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** A disk of a few megabytes, mounted for a test. */
export interface SmallDisk {
	readonly folder: string;
	/** Leaves room for nothing more that the process writes. */
	fill(pid: number): void;
	/** Takes away what filled it. */
	makeRoom(pid: number): void;
	/** The same disk at another place, where it is read-only; null where that can't be had. */
	readonly readOnlyFolder: string | null;
	/** Unmounts and removes it. */
	remove(): void;
}

/**
 * A disk in memory, mounted where the machine lets us (root, not in every container). Elsewhere a folder, and
 * a limit to the files that the process may write (prlimit), which refuses at the same place.
 * @returns why there is none, where the machine allows neither
 */
export function smallDisk(megabytes: number): SmallDisk | string {
	const folder = mkdtempSync(join(tmpdir(), 'small-disk-'));
	const notMounted = run('mount', '-t', 'tmpfs', '-o', `size=${megabytes}m`, 'tmpfs', folder);
	if (notMounted === null) return mounted(folder);
	const notLimited = run('prlimit', '--pid', String(process.pid), '--fsize');
	if (notLimited === null) return limited(folder);
	rmSync(folder, { recursive: true });
	return `neither a disk nor a limit can be had here: ${notMounted}; ${notLimited}`;
}

function mounted(folder: string): SmallDisk {
	const filler = join(folder, 'filler');
	const readOnlyFolder = `${folder}-read-only`;
	mkdirSync(readOnlyFolder);
	must('mount', '--bind', folder, readOnlyFolder);
	must('mount', '-o', 'remount,bind,ro', readOnlyFolder);
	return {
		folder,
		fill() {
			const { bavail, bsize } = statfsSync(folder);
			writeFileSync(filler, Buffer.alloc(bavail * bsize));
		},
		makeRoom() {
			rmSync(filler, { force: true });
		},
		readOnlyFolder,
		remove() {
			for (const place of [readOnlyFolder, folder]) {
				run('umount', '-l', place);
				rmSync(place, { recursive: true, force: true });
			}
		}
	};
}

function limited(folder: string): SmallDisk {
	const limit = (pid: number, bytes: number | 'unlimited') =>
		must('prlimit', '--pid', String(pid), `--fsize=${bytes}:`);
	return {
		folder,
		fill(pid) {
			const sizes = readdirSync(folder).map((name) => statSync(join(folder, name)).size);
			limit(pid, Math.max(...sizes));
		},
		makeRoom: (pid) => limit(pid, 'unlimited'),
		readOnlyFolder: null,
		remove: () => rmSync(folder, { recursive: true, force: true })
	};
}

function must(command: string, ...args: readonly string[]): void {
	const failed = run(command, ...args);
	if (failed !== null) throw new Error(`${command} ${args.join(' ')}: ${failed}`);
}

/** What a command complained of; null when it did its work. */
function run(command: string, ...args: readonly string[]): string | null {
	try {
		execFileSync(command, args, { stdio: 'pipe' });
		return null;
	} catch (error) {
		return String((error as { stderr?: unknown }).stderr ?? (error as Error).message).trim();
	}
}

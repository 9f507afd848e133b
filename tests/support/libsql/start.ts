import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import type { Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';

const CHILD = fileURLToPath(new URL('child.ts', import.meta.url));

let started: Promise<string> | null = null;
let databases = 0;

/**
 * The address of a new, empty database on the stand-in for a libSQL server, a process of its own that
 * starts with the first and ends with this process.
 */
export async function newRemoteUrl(): Promise<string> {
	started ??= start();
	return (await started).replace('NAME', `db${++databases}`);
}

/** Throws a database of `newRemoteUrl` away. */
export async function removeRemote(url: string): Promise<void> {
	const address = new URL(url);
	const token = address.searchParams.get('authToken');
	address.search = '';
	const answer = await fetch(address, {
		method: 'DELETE',
		headers: { authorization: `Bearer ${token}` }
	});
	if (!answer.ok) throw new Error(`The stand-in answered ${answer.status}.`);
}

async function start(): Promise<string> {
	const folder = mkdtempSync(join(tmpdir(), 'trierbook-libsql-'));
	const child = spawn(process.execPath, [CHILD, folder, 'test-token'], {
		stdio: ['pipe', 'pipe', 'inherit']
	});
	process.once('exit', () => rmSync(folder, { recursive: true, force: true }));
	for await (const line of createInterface({ input: child.stdout })) {
		// Nothing waits for it: it ends when this process does.
		child.unref();
		(child.stdin as Socket).unref();
		(child.stdout as Socket).unref();
		return line;
	}
	throw new Error('The stand-in for a libSQL server did not start.');
}

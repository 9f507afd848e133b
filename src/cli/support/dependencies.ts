import { spawn } from 'node:child_process';
import { ROOT } from './build.ts';

/** How long the package registry may take, ms. */
const PATIENCE_MS = 30_000;
const GRADES = ['critical', 'high', 'moderate', 'low', 'info'] as const;

/**
 * Asks the package registry for known vulnerabilities of what the lock names; one line for the terminal.
 * Information only: it never throws, and a registry that can't be asked is said to be so.
 */
export async function dependencyLine(): Promise<string> {
	return lineOf(await npmAudit());
}

function npmAudit(): Promise<string> {
	const npm = process.env['npm_execpath'];
	const [command, args] = npm ? [process.execPath, [npm]] : ['npm', []];
	return new Promise((done) => {
		const child = spawn(command, [...args, 'audit', '--json'], {
			cwd: ROOT,
			stdio: ['ignore', 'pipe', 'ignore'],
			timeout: PATIENCE_MS
		});
		let text = '';
		child.stdout.on('data', (chunk: Buffer) => (text += chunk.toString()));
		child.on('error', () => done(''));
		child.on('close', () => done(text));
	});
}

/** What of the report of `npm audit --json` is read. */
interface Report {
	readonly metadata?: { readonly vulnerabilities?: Readonly<Record<string, number>> };
	readonly vulnerabilities?: Readonly<Record<string, { readonly severity?: string }>>;
}

/** The report in one line. */
export function lineOf(json: string): string {
	const counts = parsed(json)?.metadata?.vulnerabilities;
	if (!counts) return 'Dependencies: the registry could not be asked for known vulnerabilities.';
	const found = GRADES.filter((grade) => (counts[grade] ?? 0) > 0);
	if (found.length === 0) return 'Dependencies: no known vulnerability.';
	const words = found.map((grade) => `${counts[grade]} ${grade}`).join(', ');
	const names = Object.keys(parsed(json)?.vulnerabilities ?? {}).join(', ');
	return `Dependencies: known vulnerabilities, for information: ${words} (${names}).`;
}

function parsed(json: string): Report | null {
	try {
		return JSON.parse(json) as Report | null;
	} catch {
		return null;
	}
}

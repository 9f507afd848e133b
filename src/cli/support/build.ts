import { spawn } from 'node:child_process';
import { existsSync, globSync, statSync, utimesSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** The folder of the checkout, with a trailing slash. */
export const ROOT = fileURLToPath(new URL('../../../', import.meta.url));

const HANDLER = join(ROOT, 'build/handler.js');

/** What goes into the build. Folders count too: their time tells of a file that was removed. */
const SOURCES = [
	'src/{lib,routes}/**',
	'src/*',
	'static/**',
	'package-lock.json',
	'package.json',
	'vite.config.ts',
	'tsconfig.json'
];

/** Why the build has to be made, in words for the terminal, or null when it is up to date. */
export function buildReason(): string | null {
	if (!existsSync(HANDLER)) return 'there is no build yet';
	const builtMs = statSync(HANDLER).mtimeMs;
	const newer = globSync(SOURCES, { cwd: ROOT, exclude: ['**/*.test.ts', 'src/cli'] }).find(
		(path) => statSync(join(ROOT, path)).mtimeMs > builtMs
	);
	return newer === undefined ? null : `${newer} is newer than the build`;
}

/**
 * Builds the app where there is no build or a source is newer, and says so through `say`.
 * Throws with the builder's own output when the build fails.
 */
export async function buildIfNeeded(say: (line: string) => void = console.log): Promise<void> {
	const reason = buildReason();
	if (reason === null) return;
	say(`Building: ${reason}.`);
	const startedMs = Date.now();
	await build();
	say(`Built in ${((Date.now() - startedMs) / 1000).toFixed(1)} s.`);
}

async function build(): Promise<void> {
	const started = new Date();
	const child = spawn(process.execPath, [join(ROOT, 'node_modules/vite/bin/vite.js'), 'build'], {
		cwd: ROOT,
		env: productionEnv(),
		stdio: ['ignore', 'pipe', 'pipe']
	});
	let output = '';
	child.stdout.on('data', (chunk: Buffer) => (output += chunk.toString()));
	child.stderr.on('data', (chunk: Buffer) => (output += chunk.toString()));
	const code = await new Promise<number | null>((done, fail) => {
		child.on('error', fail);
		child.on('close', done);
	});
	if (code !== 0) throw new Error(`The build failed (code ${code}).\n${output}`);
	// Dated by its start: a source that changed while it ran is newer.
	utimesSync(HANDLER, started, started);
}

/** The environment of a child that must run as in production, even when a test starts it. */
export function productionEnv(
	extra: Readonly<Record<string, string>> = {}
): Record<string, string | undefined> {
	const kept = Object.entries(process.env).filter(
		([name]) => name !== 'NODE_ENV' && !name.startsWith('VITE')
	);
	return { ...Object.fromEntries(kept), ...extra };
}

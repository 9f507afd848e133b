import { spawn, type ChildProcess } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { productionEnv, ROOT } from '../../src/cli/support/build.ts';
import { ADDRESS_LINE } from '../../src/cli/support/serve.ts';

export interface TestServer {
	/** Without a slash at the end, e.g. `http://localhost:40123`. */
	readonly address: string;
	/** `file:` address of this server's own database, which `stop` removes. */
	readonly databaseUrl: string;
	/** Number of its process. */
	readonly pid: number;
	/** Everything the server printed so far. */
	output(): string;
	/** Stops it as an operator would, waits, removes its database and gives its exit code. */
	stop(): Promise<number | null>;
}

export interface TestServerOptions {
	/**
	 * `start` serves an empty database, where everything but the first run asks to sign in; `demo` loads the
	 * demo roastery first and lets everyone act as its owner.
	 */
	readonly entry?: 'start' | 'demo';
	/** More environment variables for the server. */
	readonly env?: Readonly<Record<string, string>>;
}

/**
 * Starts the built app in a process of its own on a free port, with a new database in a temporary
 * folder, and waits until it prints its address. Throws with its output when it ends before that.
 */
export async function startServer(options: TestServerOptions = {}): Promise<TestServer> {
	const folder = mkdtempSync(join(tmpdir(), 'trierbook-'));
	const databaseUrl = `file:${join(folder, 'test.db')}`;
	const entry = join(ROOT, `src/cli/${options.entry ?? 'start'}.ts`);
	const given = { PORT: '0', DATABASE_URL: databaseUrl, HOST: '', OPEN_AS: '' };
	const env = productionEnv({ ...given, ...options.env });
	// The demo chooses whom to act as unless it is told.
	if (env['OPEN_AS'] === '') delete env['OPEN_AS'];
	// The shell that runs the tests is not this server's parent.
	delete env['npm_lifecycle_event'];
	const child = spawn(process.execPath, [entry, '--no-build'], {
		cwd: ROOT,
		env,
		stdio: ['ignore', 'pipe', 'pipe']
	});
	const log = collect(child);
	const ended = new Promise<number | null>((done) => child.once('close', done));
	const remove = () => rmSync(folder, { recursive: true, force: true });
	try {
		const address = await firstAddress(child, log);
		return {
			address,
			databaseUrl: env['DATABASE_URL']!,
			pid: child.pid!,
			output: log,
			async stop() {
				child.kill('SIGTERM');
				const code = await ended;
				remove();
				return code;
			}
		};
	} catch (error) {
		remove();
		throw error;
	}
}

function collect(child: ChildProcess): () => string {
	let text = '';
	child.stdout?.on('data', (chunk: Buffer) => (text += chunk.toString()));
	child.stderr?.on('data', (chunk: Buffer) => (text += chunk.toString()));
	return () => text;
}

function firstAddress(child: ChildProcess, log: () => string): Promise<string> {
	return new Promise((done, fail) => {
		child.once('error', fail);
		child.once('close', (code, signal) =>
			fail(new Error(`The server ended with ${code ?? signal} before it had an address:\n${log()}`))
		);
		child.stdout?.on('data', () => {
			const address = ADDRESS_LINE.exec(log())?.[1];
			if (address !== undefined) done(address);
		});
	});
}

import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { ROOT } from '../../src/cli/support/build.ts';
import { ADDRESS_LINE } from '../../src/cli/support/serve.ts';
import { timeMs, type Benchmark } from './harness.ts';

const GOAL_RATIO = 2.5;

/** What a newcomer waits for: clone, `npm ci`, `npm run demo` until the first page is there. */
export const benchmark: Benchmark = {
	name: 'from clone to first page',
	unit: 's',
	goal: `<= ${GOAL_RATIO} x npm ci alone`,
	slow: true,
	async run() {
		const folder = mkdtempSync(join(tmpdir(), 'trierbook-clone-'));
		const copy = join(folder, 'trierbook');
		try {
			const cloneS = seconds(await timeMs(() => quietly('git', ['clone', '-q', ROOT, copy], ROOT)));
			const installS = seconds(await timeMs(() => quietly('npm', ['ci'], copy)));
			const demoS = seconds(await timeMs(() => firstPage(copy)));
			const value = cloneS + installS + demoS;
			return {
				value,
				reference: installS,
				ratio: value / installS,
				holds: value / installS <= GOAL_RATIO,
				note:
					`the commit that is checked out, one run: clone ${cloneS.toFixed(1)} s, ` +
					`npm ci ${installS.toFixed(1)} s, npm run demo to its first page ${demoS.toFixed(1)} s`
			};
		} finally {
			rmSync(folder, { recursive: true, force: true });
		}
	}
};

function seconds(ms: number): number {
	return ms / 1000;
}

function quietly(command: string, args: readonly string[], cwd: string): void {
	execFileSync(command, args, { cwd, env: newcomersEnv(), stdio: ['ignore', 'ignore', 'inherit'] });
}

/** Without what npm set for this very command, so that the copy uses its own tools. */
function newcomersEnv(): NodeJS.ProcessEnv {
	const kept = Object.entries(process.env).filter(
		([name]) => !name.startsWith('npm_') && name !== 'DATABASE_URL'
	);
	const path = (process.env['PATH'] ?? '').split(delimiter);
	const outside = path.filter((folder) => !folder.includes('node_modules')).join(delimiter);
	return { ...Object.fromEntries(kept), PATH: outside, PORT: '0' };
}

/** Runs the demo until its address answers with a page, then stops it. */
async function firstPage(cwd: string): Promise<void> {
	const demo = spawn('npm', ['run', 'demo'], {
		cwd,
		env: newcomersEnv(),
		stdio: ['ignore', 'pipe', 'inherit']
	});
	const ended = new Promise<void>((done) => demo.once('close', () => done()));
	try {
		const address = await new Promise<string>((done, fail) => {
			let output = '';
			demo.stdout.on('data', (chunk: Buffer) => {
				output += chunk.toString();
				const found = ADDRESS_LINE.exec(output)?.[1];
				if (found !== undefined) done(found);
			});
			demo.once('error', fail);
			demo.once('close', (code) => fail(new Error(`npm run demo ended with ${code}:\n${output}`)));
		});
		const response = await fetch(address);
		if (response.status !== 200) throw new Error(`The first page answered ${response.status}.`);
		await response.text();
	} finally {
		demo.kill('SIGTERM');
		await ended;
	}
}

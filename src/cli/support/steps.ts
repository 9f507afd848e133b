import { spawn } from 'node:child_process';
import { join } from 'node:path';
import { ROOT } from './build.ts';

/** One check of `npm test`: a tool from node_modules, run as the lock has it. */
export interface Step {
	readonly title: string;
	/** Under node_modules. */
	readonly script: string;
	readonly args: readonly string[];
}

/**
 * Runs a step. `live` passes its output on as it comes; otherwise the output is printed under the title
 * once the step has ended, so that steps side by side stay readable. Resolves to whether it held.
 */
export async function runStep(step: Step, output: 'live' | 'whole'): Promise<boolean> {
	const startedMs = Date.now();
	if (output === 'live') console.log(`\n== ${step.title}`);
	const { code, text } = await runTool(step, output);
	const seconds = ((Date.now() - startedMs) / 1000).toFixed(1);
	const verdict = code === 0 ? `held, ${seconds} s` : `FAILED with ${code}, ${seconds} s`;
	if (output === 'live') console.log(`== ${step.title}: ${verdict}`);
	else console.log(`\n== ${step.title}: ${verdict}\n${code === 0 ? '' : text}`.trimEnd());
	return code === 0;
}

/** Runs steps one after the other, each even when one before it failed; gives the titles that failed. */
export async function runInOrder(
	steps: readonly Step[],
	output: 'live' | 'whole'
): Promise<readonly string[]> {
	const failed: string[] = [];
	for (const step of steps) if (!(await runStep(step, output))) failed.push(step.title);
	return failed;
}

function runTool(
	step: Step,
	output: 'live' | 'whole'
): Promise<{ code: number | null; text: string }> {
	const child = spawn(process.execPath, [join(ROOT, 'node_modules', step.script), ...step.args], {
		cwd: ROOT,
		stdio: output === 'live' ? 'inherit' : ['ignore', 'pipe', 'pipe']
	});
	let text = '';
	child.stdout?.on('data', (chunk: Buffer) => (text += chunk.toString()));
	child.stderr?.on('data', (chunk: Buffer) => (text += chunk.toString()));
	return new Promise((done, fail) => {
		child.on('error', fail);
		child.on('close', (code) => done({ code, text }));
	});
}

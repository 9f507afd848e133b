import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { countsLine, countTests, total, type Counts, type TestReport } from './support/counts.ts';
import { dependencyLine } from './support/dependencies.ts';
import { runInOrder, runStep, type Step } from './support/steps.ts';

/**
 * `npm test`: style and types side by side, then the build, then every test. The last line is the
 * counts; they say 0 failed, and the command leaves with 0, only when every check held and a test ran.
 * What is known against our dependencies is told beside it and fails nothing.
 */
const STYLE: readonly Step[] = [
	{ title: 'Format', script: 'prettier/bin/prettier.cjs', args: ['--check', '.'] },
	{ title: 'Lint', script: 'eslint/bin/eslint.js', args: ['.', '--max-warnings', '0'] }
];
const TYPES: readonly Step[] = [
	{ title: 'Generated types', script: '@sveltejs/kit/svelte-kit.js', args: ['sync'] },
	{
		title: 'Svelte check',
		script: 'svelte-check/bin/svelte-check',
		args: ['--tsconfig', './tsconfig.json', '--fail-on-warnings']
	},
	{ title: 'Type check', script: 'typescript/bin/tsc', args: ['--noEmit'] }
];
const BUILD: Step = { title: 'Build', script: 'vite/bin/vite.js', args: ['build'] };

const dependencies = dependencyLine();
const failedChecks = (
	await Promise.all([runInOrder(STYLE, 'whole'), runInOrder(TYPES, 'whole')])
).flat();
if (!(await runStep(BUILD, 'whole'))) failedChecks.push(BUILD.title);
const tests = await runTests();
const counts = total(tests.counts, failedChecks.length, tests.held);

console.log(`\n${await dependencies}`);
if (failedChecks.length > 0) console.log(`Failed checks: ${failedChecks.join(', ')}.`);
console.log(`\n${countsLine(counts)}`);
process.exit(counts.failed === 0 ? 0 : 1);

/** Every Vitest project in one run, its output as it comes. */
async function runTests(): Promise<{ held: boolean; counts: Counts }> {
	const folder = mkdtempSync(join(tmpdir(), 'trierbook-test-'));
	const report = join(folder, 'report.json');
	const held = await runStep(
		{
			title: 'Tests',
			script: 'vitest/vitest.mjs',
			args: ['run', '--reporter=default', '--reporter=json', `--outputFile.json=${report}`]
		},
		'live'
	);
	const counts = existsSync(report)
		? countTests(JSON.parse(readFileSync(report, 'utf8')) as TestReport)
		: { passed: 0, failed: 0, skipped: 0 };
	rmSync(folder, { recursive: true, force: true });
	return { held, counts };
}

import { globSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { lineOf, lineText, type Benchmark, type Line } from './harness.ts';

/**
 * `npm run bench [-- --json] [--slow] [--only WORD]`: every `*.bench.ts` beside this file, one after
 * the other, a line each; `--json` prints an array and nothing else on standard output. Leaves with 1
 * when a figure misses its goal.
 */
const { values } = parseArgs({
	options: {
		json: { type: 'boolean', default: false },
		slow: { type: 'boolean', default: false },
		only: { type: 'string', default: '' }
	}
});

const lines: Line[] = [];
for (const file of globSync('*.bench.ts', { cwd: import.meta.dirname }).sort()) {
	const { benchmark } = (await import(`./${file}`)) as { benchmark: Benchmark };
	if (!benchmark.name.includes(values.only)) continue;
	const line = await lineOf(benchmark, values.slow);
	lines.push(line);
	if (!values.json) console.log(lineText(line));
}
if (values.json) console.log(JSON.stringify(lines, null, '\t'));
process.exit(lines.some((line) => line.holds === false) ? 1 : 0);

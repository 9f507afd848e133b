import { execFileSync } from 'node:child_process';
import { existsSync, globSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';

/** What we hand out names no path of a machine and no host that a package came from. */

const ROOT = fileURLToPath(new URL('../../', import.meta.url));

/** Each is cut in two, so that this file doesn't find itself. */
const MACHINE_FOLDERS = ['wo|rk', 'ro|ot', 'ho|me', 'Us|ers'].map((cut) => cut.replace('|', ''));
const PACKAGE_HOSTS = ['npm|js.', 'registry|.', 'pypi|.', 'deb|.debian'].map((cut) =>
	cut.replace('|', '').replace('.', '\\.')
);

const FORBIDDEN = new RegExp(
	`(^|[\\s"'\`(=:,])/(${MACHINE_FOLDERS.join('|')})/|://[\\w.-]*(${PACKAGE_HOSTS.join('|')})`,
	'm'
);

/** What git keeps; in a copy without git, what git would keep. */
function keptFiles(): readonly string[] {
	if (existsSync(join(ROOT, '.git')))
		return execFileSync('git', ['ls-files', '-z'], { cwd: ROOT, encoding: 'utf8' })
			.split('\0')
			.filter((path) => path !== '' && existsSync(join(ROOT, path)));
	const exclude = ['node_modules', 'build', '.svelte-kit', 'data'];
	return globSync('**/*.*', { cwd: ROOT, exclude });
}

/** The line that holds a forbidden name, or null. */
function forbiddenLine(text: string): string | null {
	const found = FORBIDDEN.exec(text);
	if (found === null) return null;
	const start = text.lastIndexOf('\n', found.index + (found[1] ?? '').length - 1) + 1;
	return text.slice(start, start + 120).split('\n')[0] ?? '';
}

test.each([
	[`const a = '/${MACHINE_FOLDERS[0]}/main/x';`, true],
	[`see\n/${MACHINE_FOLDERS[1]}/x`, true],
	[`"https://${PACKAGE_HOSTS[1]?.replace('\\', '')}example.org/a"`, true],
	['a framework/x of work/life', false],
	[`<a href="/lots">`, false]
])('%j is found: %s', (text, found) => {
	expect(forbiddenLine(text) !== null).toBe(found);
});

test('no kept text names a path of a machine or a package host', () => {
	const files = keptFiles().filter((path) =>
		/\.(ts|js|svelte|json|md|css|html|sql|svg|csv)$/.test(path)
	);
	expect(files.length).toBeGreaterThan(20);
	const found = files.flatMap((path) => {
		const line = forbiddenLine(readFileSync(join(ROOT, path), 'utf8'));
		return line === null ? [] : [`${path}: ${line}`];
	});
	expect(found).toEqual([]);
});

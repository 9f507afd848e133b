import { globSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import ts from 'typescript';
import { describe, expect, test } from 'vitest';
import { placeOf } from '#lib/domain/access/places.ts';
import { ACT_NAMES } from '#lib/domain/access/rights.ts';

/** Nothing that can be done or opened is missing from the tables of rights in src/lib/domain/access. */

const ROOT = fileURLToPath(new URL('../../', import.meta.url));

/** Folders of src/routes that answer, as addresses: `/lots/[code]`. */
const routes = [
	...new Set(
		globSync('src/routes/**/+{page,server}{,.server}.{svelte,ts}', { cwd: ROOT }).map(
			(path) => path.replace(/^src\/routes/, '').replace(/\/[^/]*$/, '') || '/'
		)
	)
].sort();

test('there are routes to look at', () => expect(routes.length).toBeGreaterThan(20));

test.each(routes)('%s is in a place', (route) => {
	const missing = `${route} is in no place: add its section to PLACES in src/lib/domain/access/places.ts`;
	expect(placeOf(route) === null ? missing : null).toBe(null);
});

interface Noted {
	/** Text or pattern of the act's name. */
	readonly name: RegExp;
	readonly text: string;
}

/** The acts that a file notes; a name made of parts is taken as a pattern. */
function notedIn(code: string): Noted[] {
	const file = ts.createSourceFile('x.ts', code, ts.ScriptTarget.Latest, true);
	const found: Noted[] = [];
	const escape = (text: string) => text.replace(/[.*+?^${}()|[\]\\]/g, '\\$&');
	const add = (node: ts.Expression | undefined): void => {
		if (!node) return;
		if (ts.isConditionalExpression(node)) {
			add(node.whenTrue);
			add(node.whenFalse);
		} else if (ts.isStringLiteralLike(node))
			found.push({ name: new RegExp(`^${escape(node.text)}$`), text: node.text });
		else if (ts.isTemplateExpression(node)) {
			const parts = node.templateSpans.map(({ literal }) => `.+${escape(literal.text)}`);
			found.push({
				name: new RegExp(`^${escape(node.head.text)}${parts.join('')}$`),
				text: node.getText()
			});
		}
	};
	const visit = (node: ts.Node): void => {
		if (ts.isCallExpression(node) && ts.isIdentifier(node.expression))
			if (node.expression.text === 'note') add(node.arguments[1]);
		ts.forEachChild(node, visit);
	};
	visit(file);
	return found;
}

/** Parts of acts: whoever calls them notes the act. */
const PARTS = ['act', 'intakeFiles', 'makeReadings', 'postMovements', 'storeLog'];

/** Whether a file writes to the database. */
const writes = (code: string) => /\.(insert|update|delete)\(/.test(code);

describe('acts', () => {
	test('a name, a choice and a name made of parts are found', () => {
		const code = "note(d, a ? 'lock slot' : 'unlock slot', 1, {}); note(d, `record ${b}`, 1, {});";
		expect(notedIn(code).map(({ text }) => text)).toEqual([
			'lock slot',
			'unlock slot',
			'`record ${b}`'
		]);
	});

	const files = globSync('src/lib/server/commands/**/*.ts', { cwd: ROOT }).filter(
		(path) => !path.endsWith('.test.ts')
	);
	test.each(files)('%s notes what it writes, under a name in the table', (path) => {
		const code = readFileSync(join(ROOT, path), 'utf8');
		const name = path.replace(/^.*\/|\.ts$/g, '');
		const noted = notedIn(code);
		const unknown = noted
			.filter((each) => !ACT_NAMES.some((act) => each.name.test(act)))
			.map(
				({ text }) =>
					`the act '${text}' has no line in ACTS of src/lib/domain/access/rights.ts: add one with the roles that may do it`
			);
		expect(unknown).toEqual([]);
		if (writes(code) && !PARTS.includes(name))
			expect(noted.length === 0 ? `${path} writes and notes no act` : null).toBe(null);
	});

	test('every line of the table is an act that some command notes', () => {
		const all = files.flatMap((path) => notedIn(readFileSync(join(ROOT, path), 'utf8')));
		expect(ACT_NAMES.filter((act) => !all.some(({ name }) => name.test(act)))).toEqual([]);
	});
});

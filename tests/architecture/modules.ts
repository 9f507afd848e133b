import { dirname, join } from 'node:path/posix';
import ts from 'typescript';

/** What a source file imports and does, as far as the rules of the rooms ask. */
export interface Module {
	/** From the top of the repository, e.g. `src/lib/domain/air/humidity.ts`. */
	readonly path: string;
	readonly imports: readonly Import[];
	/** Clock, chance and world that it reaches for, e.g. `Date.now`. */
	readonly reaches: readonly string[];
}

export interface Import {
	/** As written. */
	readonly specifier: string;
	/** Repository path of a file of ours; null for a package or a generated module. */
	readonly target: string | null;
	/** Gone after compilation, so it pulls nothing into the client. */
	readonly typeOnly: boolean;
}

/** Path -> text of the sources that the rules look at. */
export type Sources = ReadonlyMap<string, string>;

/** package.json's `imports`. */
const SHORTCUTS: readonly (readonly [string, string])[] = [
	['#lib/', 'src/lib/'],
	['#demo/', 'demo-data/generator/'],
	['#support/', 'tests/support/']
];

/** Reads every source; `.svelte` files by their script blocks. */
export function readModules(sources: Sources): readonly Module[] {
	return [...sources].map(([path, text]) => readModule(path, text));
}

function readModule(path: string, text: string): Module {
	const code = path.endsWith('.svelte') ? scriptsOf(text) : text;
	const file = ts.createSourceFile(path, code, ts.ScriptTarget.Latest);
	const imports: Import[] = [];
	const reaches: string[] = [];
	const add = (node: ts.Node | undefined, typeOnly: boolean) => {
		if (node === undefined || !ts.isStringLiteralLike(node)) return;
		imports.push({ specifier: node.text, target: targetOf(path, node.text), typeOnly });
	};
	const visit = (node: ts.Node): void => {
		if (ts.isImportDeclaration(node))
			add(node.moduleSpecifier, node.importClause?.isTypeOnly === true);
		else if (ts.isExportDeclaration(node)) add(node.moduleSpecifier, node.isTypeOnly);
		else if (ts.isImportTypeNode(node) && ts.isLiteralTypeNode(node.argument))
			add(node.argument.literal, true);
		else if (ts.isCallExpression(node) && node.expression.kind === ts.SyntaxKind.ImportKeyword)
			add(node.arguments[0], false);
		const reach = reachOf(node);
		if (reach !== null) reaches.push(reach);
		ts.forEachChild(node, visit);
	};
	visit(file);
	return { path, imports, reaches };
}

function scriptsOf(svelte: string): string {
	return [...svelte.matchAll(/<script\b[^>]*>([\s\S]*?)<\/script>/g)]
		.map((match) => match[1])
		.join('\n');
}

function targetOf(from: string, specifier: string): string | null {
	if (specifier.includes('/$types')) return null;
	if (specifier.startsWith('.')) return join(dirname(from), specifier);
	const shortcut = SHORTCUTS.find(([prefix]) => specifier.startsWith(prefix));
	return shortcut ? shortcut[1] + specifier.slice(shortcut[0].length) : null;
}

const WORLD_OBJECTS = ['performance', 'process', 'crypto', 'globalThis', 'console', 'localStorage'];
const WORLD_CALLS = ['fetch', 'setTimeout', 'setInterval', 'setImmediate', 'queueMicrotask'];
const CLOCK_MEMBERS = ['Date.now', 'Math.random', 'DateTime.now', 'DateTime.local', 'DateTime.utc'];

/** Clock, chance or world that this node reaches for, or null. */
function reachOf(node: ts.Node): string | null {
	if (ts.isPropertyAccessExpression(node) && ts.isIdentifier(node.expression)) {
		const object = node.expression.text;
		if (WORLD_OBJECTS.includes(object)) return `${object}.${node.name.text}`;
		const member = `${object}.${node.name.text}`;
		return CLOCK_MEMBERS.includes(member) ? member : null;
	}
	if (ts.isNewExpression(node) && isNamed(node.expression, ['Date']))
		return node.arguments?.length ? null : 'new Date()';
	if (!ts.isCallExpression(node) || !ts.isIdentifier(node.expression)) return null;
	const name = node.expression.text;
	return name === 'Date' || WORLD_CALLS.includes(name) ? `${name}()` : null;
}

function isNamed(node: ts.Node, names: readonly string[]): boolean {
	return ts.isIdentifier(node) && names.includes(node.text);
}

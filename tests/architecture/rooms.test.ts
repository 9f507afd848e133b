import { globSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { readModules, type Module } from './modules.ts';
import * as rules from './rules.ts';

/** The shape of the sources (`rules.ts`), each rule first tried on made-up sources that break it. */

const ROOT = fileURLToPath(new URL('../../', import.meta.url));
const WHERE = ['src', 'demo-data/generator', 'tests'].map((folder) => `${folder}/**/*.{ts,svelte}`);

const modules = readModules(
	new Map(
		globSync(WHERE, { cwd: ROOT }).map((path) => [path, readFileSync(join(ROOT, path), 'utf8')])
	)
);

function made(sources: Record<string, string>): readonly Module[] {
	return readModules(new Map(Object.entries(sources)));
}

test('the sources are found and their imports read', () => {
	expect(modules.length).toBeGreaterThan(20);
	const own = modules.find(({ path }) => path === 'tests/architecture/rooms.test.ts');
	expect(own?.imports.map(({ target }) => target)).toContain('tests/architecture/rules.ts');
});

test('imports of every kind are read, from TypeScript and Svelte', () => {
	const [page] = made({
		'src/lib/ui/a/A.svelte': `<script lang="ts">
			import B from './B.svelte';
			import type { C } from '#lib/domain/air/c.ts';
			export * from '../d.ts';
			const e = await import('#lib/domain/air/e.ts');
			let f: import('./f.ts').F;
			import { luxon, type G } from 'luxon';
		</script><p>import x from './not.ts'</p>`
	});
	expect(page?.imports).toEqual([
		{ specifier: './B.svelte', target: 'src/lib/ui/a/B.svelte', typeOnly: false },
		{ specifier: '#lib/domain/air/c.ts', target: 'src/lib/domain/air/c.ts', typeOnly: true },
		{ specifier: '../d.ts', target: 'src/lib/ui/d.ts', typeOnly: false },
		{ specifier: '#lib/domain/air/e.ts', target: 'src/lib/domain/air/e.ts', typeOnly: false },
		{ specifier: './f.ts', target: 'src/lib/ui/a/f.ts', typeOnly: true },
		{ specifier: 'luxon', target: null, typeOnly: false }
	]);
});

describe('a domain room imports only earlier ones', () => {
	test('broken', () => {
		const lot = `import { plan } from '../plan/plan.ts';`;
		expect(rules.roomOrder(made({ 'src/lib/domain/lot/lot.ts': lot }))).toHaveLength(1);
		expect(
			rules.roomOrder(made({ 'src/lib/domain/plan/plan.ts': `import '../lot/lot.ts'` }))
		).toEqual([]);
	});
	test('kept', () => expect(rules.roomOrder(modules)).toEqual([]));
});

describe('every folder of the domain and the server is a listed room', () => {
	test('broken', () => {
		const sources = { 'src/lib/domain/helpers/a.ts': '', 'src/lib/server/utils/b.ts': '' };
		expect(rules.knownRooms(made(sources))).toHaveLength(2);
	});
	test('kept', () => expect(rules.knownRooms(modules)).toEqual([]));
});

describe('the domain imports no package but Luxon in its calendar', () => {
	test('broken', () => {
		const sources = {
			'src/lib/domain/air/a.ts': `import { readFileSync } from 'node:fs';`,
			'src/lib/domain/lot/b.ts': `import { DateTime } from 'luxon';`,
			'src/lib/domain/quantity/week.ts': `import { DateTime } from 'luxon';`
		};
		expect(rules.domainPackages(made(sources))).toEqual([
			'src/lib/domain/air/a.ts: the domain may not import node:fs',
			'src/lib/domain/lot/b.ts: the domain may not import luxon'
		]);
	});
	test('kept', () => expect(rules.domainPackages(modules)).toEqual([]));
});

describe('the domain has no clock, chance or world', () => {
	test.each([
		['Date.now()', 'Date.now'],
		['new Date()', 'new Date()'],
		['new Date', 'new Date()'],
		['Date()', 'Date()'],
		['Math.random()', 'Math.random'],
		['performance.now()', 'performance.now'],
		['process.env', 'process.env'],
		['DateTime.now()', 'DateTime.now'],
		['fetch("/x")', 'fetch()']
	])('broken by %s', (code, reach) => {
		const found = rules.domainReaches(made({ 'src/lib/domain/air/a.ts': `const a = ${code};` }));
		expect(found).toEqual([
			`src/lib/domain/air/a.ts: the domain may not use ${reach}; have it passed in`
		]);
	});
	test('not broken by a given time, nor in a comment or a test', () => {
		const sources = {
			'src/lib/domain/air/a.ts': `// Date.now()\nconst a = new Date(0), b = Math.max(1, 2);`,
			'src/lib/domain/air/a.test.ts': 'Date.now()'
		};
		expect(rules.domainReaches(made(sources))).toEqual([]);
	});
	test('kept', () => expect(rules.domainReaches(modules)).toEqual([]));
});

describe('arrows point one way', () => {
	test.each([
		['src/lib/domain/lot/a.ts', '#lib/server/db/schema.ts'],
		['src/lib/domain/lot/a.ts', '#demo/bean.ts'],
		['src/lib/server/store/a.ts', '#lib/ui/format/number.ts'],
		['src/lib/ui/components/A.svelte', '#lib/server/store/lots.ts'],
		['src/lib/ui/components/a.ts', '#lib/server/store/lots.ts'],
		['src/routes/lots/+page.svelte', '#lib/server/store/lots.ts'],
		['src/routes/lots/+page.ts', '#lib/server/store/lots.ts'],
		['src/lib/server/store/a.ts', '../../../routes/lots/+page.server.ts'],
		['src/lib/server/store/a.ts', '#support/server.ts']
	])('broken by %s importing %s', (path, specifier) => {
		const code = `import { a } from '${specifier}';`;
		const source = path.endsWith('.svelte') ? `<script>${code}</script>` : code;
		expect(rules.arrows(made({ [path]: source }))).toHaveLength(1);
	});
	test.each([
		['src/routes/lots/+page.server.ts', '#lib/server/store/lots.ts'],
		['src/routes/lots/[code]/dossier.pdf/+server.ts', '#lib/server/documents/dossier.ts'],
		['src/routes/+layout.server.ts', '#lib/server/store/site.ts'],
		['src/hooks.server.ts', '#lib/server/db/client.ts'],
		['src/lib/server/store/a.ts', '#lib/domain/lot/lot.ts'],
		['src/lib/ui/components/a.ts', '#lib/domain/lot/lot.ts']
	])('not broken by %s importing %s', (path, specifier) => {
		expect(rules.arrows(made({ [path]: `import { a } from '${specifier}';` }))).toEqual([]);
	});
	test('kept', () => expect(rules.arrows(modules)).toEqual([]));
});

describe('server layers import only lower ones, routes no database', () => {
	test.each([
		['src/lib/server/db/a.ts', '../store/lots.ts'],
		['src/lib/server/store/a.ts', '../commands/createLot.ts'],
		['src/lib/server/documents/a.ts', '../db/client.ts'],
		['src/lib/server/documents/a.ts', '../commands/createLot.ts'],
		['src/lib/server/commands/a.ts', '../jobs/queue.ts'],
		['src/routes/lots/+page.server.ts', '#lib/server/db/schema.ts']
	])('broken by %s importing %s', (path, specifier) => {
		expect(rules.serverLayers(made({ [path]: `import { a } from '${specifier}';` }))).toHaveLength(
			1
		);
	});
	test('kept', () => expect(rules.serverLayers(modules)).toEqual([]));
});

describe('no import circles', () => {
	test('broken', () => {
		const sources = {
			'src/lib/domain/lot/a.ts': `import './b.ts'`,
			'src/lib/domain/lot/b.ts': `import type { C } from './c.ts'`,
			'src/lib/domain/lot/c.ts': `import './a.ts'; import './d.ts'`,
			'src/lib/domain/lot/d.ts': ''
		};
		const [a, b, c] = Object.keys(sources);
		expect(rules.circles(made(sources))).toEqual([`${a} -> ${b} -> ${c} -> ${a}`]);
	});
	test('kept', () => expect(rules.circles(modules)).toEqual([]));
});

describe('the browser loads no Luxon', () => {
	const week = { 'src/lib/domain/quantity/week.ts': `import { DateTime } from 'luxon';` };
	test('broken through the domain', () => {
		const sources = {
			...week,
			'src/lib/domain/lot/due.ts': `import { weekOf } from '../quantity/week.ts';`,
			'src/lib/ui/components/A.svelte': `<script>import { due } from '#lib/domain/lot/due.ts';</script>`
		};
		expect(rules.clientCalendar(made(sources))).toEqual([
			'the browser would load Luxon: src/lib/ui/components/A.svelte -> src/lib/domain/lot/due.ts -> ' +
				'src/lib/domain/quantity/week.ts -> luxon'
		]);
	});
	test('not broken by a type', () => {
		const code = `import type { Week } from '#lib/domain/quantity/week.ts';`;
		expect(rules.clientCalendar(made({ ...week, 'src/lib/ui/format/a.ts': code }))).toEqual([]);
	});
	test('kept', () => expect(rules.clientCalendar(modules)).toEqual([]));
});

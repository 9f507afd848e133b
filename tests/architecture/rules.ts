import type { Import, Module } from './modules.ts';

/**
 * The rooms and the arrows between them. These lists are the authority: a new room is added here, in
 * its place in the line, before it may exist.
 */

/** Rooms of the domain, in the order in which a lot travels. A room imports only earlier ones. */
export const DOMAIN_ROOMS: readonly string[] = [
	'quantity',
	'stats',
	'access',
	'air',
	'curve',
	'release',
	'drum',
	'lot',
	'ledger',
	'trial',
	'cost',
	'demand',
	'plan'
];

/** What each layer of the server may import beside itself, the domain and packages. */
export const SERVER_LAYERS: Readonly<Record<string, readonly string[]>> = {
	settings: [],
	// What every answer tells the browser to refuse.
	headers: [],
	// Why what a request carried could not be read.
	body: [],
	// What is written of every request.
	requestLog: [],
	db: ['settings'],
	// Copies of every record, whatever they are, and back.
	backup: ['settings', 'db', 'auth'],
	store: ['db', 'imports'],
	auth: ['settings', 'db', 'store'],
	// What a page or a paper shows, put together from the store by the rules of the domain.
	views: ['settings', 'db', 'store', 'auth', 'imports'],
	imports: [],
	documents: ['store', 'views', 'imports'],
	solver: [],
	commands: ['settings', 'db', 'store', 'views', 'auth', 'imports', 'documents', 'solver'],
	jobs: [
		...['settings', 'db', 'store', 'views', 'auth', 'imports', 'documents', 'solver', 'commands'],
		'backup'
	],
	// What programs may call.
	api: ['settings', 'db', 'store', 'views', 'auth', 'imports', 'commands']
};

/** What each part of the sources may import of the others. */
const PARTS: Readonly<Record<string, readonly string[]>> = {
	domain: [],
	server: ['domain'],
	ui: ['domain'],
	'route page': ['ui', 'domain'],
	'route server': ['server', 'domain', 'ui'],
	cli: ['server', 'domain']
};

/** The one file of the domain that may use a package, and which. */
const CALENDAR = 'src/lib/domain/quantity/week.ts';
const CALENDAR_PACKAGE = 'luxon';

/** Code that ships or runs; tests may look anywhere. */
function isTest(path: string): boolean {
	return path.endsWith('.test.ts') || path.startsWith('tests/');
}

/** `quantity` of `src/lib/domain/quantity/week.ts`, `settings` of `src/lib/server/settings.ts`. */
function roomIn(folder: string, path: string): string | null {
	if (!path.startsWith(folder)) return null;
	const [first = ''] = path.slice(folder.length).split('/');
	return first.replace(/\.ts$/, '');
}

const domainRoom = (path: string) => roomIn('src/lib/domain/', path);
const serverLayer = (path: string) => roomIn('src/lib/server/', path);

function partOf(path: string): string | null {
	if (path.startsWith('src/lib/domain/')) return 'domain';
	if (path.startsWith('src/lib/server/')) return 'server';
	if (path.startsWith('src/lib/ui/')) return 'ui';
	if (path.startsWith('src/cli/')) return 'cli';
	if (/^src\/(routes\/.*\+server|.*\.server|hooks\.server|.*\.d)\.ts$/.test(path))
		return 'route server';
	return path.startsWith('src/routes/') || path === 'src/hooks.client.ts' ? 'route page' : null;
}

function* shippedImports(modules: readonly Module[]): Generator<readonly [Module, Import]> {
	for (const module of modules)
		if (!isTest(module.path)) for (const one of module.imports) yield [module, one];
}

/** A domain room imports only itself and earlier rooms. */
export function roomOrder(modules: readonly Module[]): readonly string[] {
	const found: string[] = [];
	for (const [{ path }, { target }] of shippedImports(modules)) {
		const from = domainRoom(path);
		const to = target === null ? null : domainRoom(target);
		if (from === null || to === null || from === to) continue;
		if (DOMAIN_ROOMS.indexOf(to) > DOMAIN_ROOMS.indexOf(from))
			found.push(`${path}: ${from} comes before ${to} and may not import ${target}`);
	}
	return found;
}

/** Every folder of the domain and of the server is in the lists above. */
export function knownRooms(modules: readonly Module[]): readonly string[] {
	return modules.flatMap(({ path }) => {
		const room = domainRoom(path);
		if (room !== null && !DOMAIN_ROOMS.includes(room))
			return [`${path}: ${room} is no room of the domain`];
		const layer = serverLayer(path);
		if (layer !== null && !isTest(path) && !(layer in SERVER_LAYERS))
			return [`${path}: ${layer} is no layer of the server`];
		return [];
	});
}

/** The domain uses no package but Luxon in its calendar file, and nothing of Node or Svelte. */
export function domainPackages(modules: readonly Module[]): readonly string[] {
	const found: string[] = [];
	for (const [{ path }, { specifier, target }] of shippedImports(modules)) {
		if (domainRoom(path) === null || target !== null) continue;
		if (path === CALENDAR && specifier === CALENDAR_PACKAGE) continue;
		found.push(`${path}: the domain may not import ${specifier}`);
	}
	return found;
}

/** The domain has no clock, no chance and no world: they are passed in. */
export function domainReaches(modules: readonly Module[]): readonly string[] {
	return modules
		.filter(({ path }) => domainRoom(path) !== null && !isTest(path))
		.flatMap(({ path, reaches }) =>
			reaches.map((reach) => `${path}: the domain may not use ${reach}; have it passed in`)
		);
}

/** Arrows between domain, server, ui, routes and cli; ui and server never meet. */
export function arrows(modules: readonly Module[]): readonly string[] {
	const found: string[] = [];
	for (const [{ path }, { specifier, target }] of shippedImports(modules)) {
		const from = partOf(path);
		if (from === null || target === null || !/\.(ts|svelte)$/.test(target)) continue;
		const to = partOf(target) ?? 'a place outside the app';
		if (to === from || PARTS[from]?.includes(to)) continue;
		if (bothRoutes(from, to) || belongsToCli(from, target)) continue;
		found.push(`${path}: ${from} may not import ${to} (${specifier})`);
	}
	return found;
}

/** A page may import the type of its loader's data, and a loader a file beside it. */
function bothRoutes(from: string, to: string): boolean {
	return from === 'route server' && to === 'route page';
}

/** The demo command loads the demo roastery. */
function belongsToCli(from: string, target: string): boolean {
	return from === 'cli' && target.startsWith('demo-data/');
}

/** Layers of the server, and no SQL in a route. */
export function serverLayers(modules: readonly Module[]): readonly string[] {
	const found: string[] = [];
	for (const [{ path }, { target }] of shippedImports(modules)) {
		const to = target === null ? null : serverLayer(target);
		if (to === null) continue;
		const from = serverLayer(path);
		if (from !== null && from !== to && !SERVER_LAYERS[from]?.includes(to))
			found.push(`${path}: ${from} may not import ${target}`);
		if (path.startsWith('src/routes/') && to === 'db')
			found.push(`${path}: a route asks the store, not ${target}`);
	}
	return found;
}

/** No file imports itself by way of others; each circle once, from its first path on. */
export function circles(modules: readonly Module[]): readonly string[] {
	const byPath = new Map(modules.map((module) => [module.path, module]));
	const done = new Set<string>();
	const found: string[] = [];
	const visit = (path: string, trail: readonly string[]): void => {
		const start = trail.indexOf(path);
		if (start >= 0) {
			found.push([...trail.slice(start), path].join(' -> '));
			return;
		}
		if (done.has(path)) return;
		for (const { target } of byPath.get(path)?.imports ?? [])
			if (target !== null) visit(target, [...trail, path]);
		done.add(path);
	};
	for (const { path } of modules) visit(path, []);
	return found;
}

/** What runs in the browser doesn't load Luxon, by any way; each with the way it takes. */
export function clientCalendar(modules: readonly Module[]): readonly string[] {
	const byPath = new Map(modules.map((module) => [module.path, module]));
	return modules
		.filter(({ path }) => !isTest(path) && ['ui', 'route page'].includes(partOf(path) ?? ''))
		.flatMap(({ path }) => {
			const way = wayToCalendar(path, byPath, new Set());
			return way === null ? [] : [`the browser would load Luxon: ${way.join(' -> ')}`];
		});
}

function wayToCalendar(
	path: string,
	byPath: ReadonlyMap<string, Module>,
	seen: Set<string>
): readonly string[] | null {
	if (seen.has(path)) return null;
	seen.add(path);
	for (const { specifier, target, typeOnly } of byPath.get(path)?.imports ?? []) {
		if (typeOnly) continue;
		if (specifier === CALENDAR_PACKAGE) return [path, specifier];
		const way = target === null ? null : wayToCalendar(target, byPath, seen);
		if (way !== null) return [path, ...way];
	}
	return null;
}

import { sql } from 'drizzle-orm';
import { mayOpen } from '#lib/domain/access/places.ts';
import { ROLES, type Role } from '#lib/domain/access/role.ts';
import { seededChance } from '#lib/domain/stats/chance.ts';
import { inspectDatabase } from '#lib/server/backup/inspect.ts';
import { pathOf } from '#lib/server/backup/stored.ts';
import { openDatabase, type Database } from '#lib/server/db/client.ts';
import { formsOf, type Form } from './forms.ts';
import { cookieHeader, signedIn } from './session.ts';

/**
 * Many people at once on a server: each reads pages and records things by the forms of those pages, one request
 * after the other, with a pause as between two clicks. Afterwards every acknowledged record is looked for.
 */
export interface ManyOptions {
	readonly users: number;
	/** Asked before each turn: false ends a person's work. */
	readonly goesOn: (turn: number) => boolean;
	/** Milliseconds between two turns of a person, at least and at most. */
	readonly pauseMs: readonly [least: number, most: number];
	readonly seed: number;
}

export interface ManyResult {
	/** Milliseconds of each answer, by kind. */
	readonly ms: ReadonlyMap<string, readonly number[]>;
	/** How often each kind was answered by each status. */
	readonly statuses: ReadonlyMap<string, number>;
	/** Answers that are none of those expected, lost records and what the checks found. */
	readonly faults: readonly string[];
	/** Records that were acknowledged, all of them found. */
	readonly recorded: number;
	/** Edits that were refused since another person was first, and kept in the form. */
	readonly told: number;
}

interface Person {
	readonly role: Role;
	readonly name: string;
	readonly session: string;
	readonly random: () => number;
}

interface Work {
	readonly address: string;
	readonly lots: readonly string[];
	readonly ms: Map<string, number[]>;
	readonly statuses: Map<string, number>;
	readonly faults: string[];
	/** Measured moistures that were acknowledged, each its own. */
	readonly measured: string[];
	saved: number;
	told: number;
	moisture: number;
}

const PAGES = ['/', '/lots', '/tests', '/samples', '/cuppings', '/week', '/floor', '/stock'];
/** The product whose price everybody edits. */
const PRODUCT = 'SUNBED';

/** Lets people work on a server whose database is the demo's, and looks at what is left. */
export async function workMany(
	server: { readonly address: string; readonly databaseUrl: string },
	options: ManyOptions
): Promise<ManyResult> {
	const people: Person[] = [];
	for (let i = 0; i < options.users; i++) {
		const role = ROLES[i % ROLES.length]!;
		const name = `Person ${options.seed}-${i}`;
		const session = await signedIn(server.databaseUrl, role, name);
		people.push({ role, name, session, random: seededChance(options.seed * 1000 + i) });
	}
	const database = await openDatabase({ url: server.databaseUrl });
	try {
		const lots = (await database.orm.all<{ code: string }>(sql`select code from lot`)).map(
			({ code }) => code
		);
		const work: Work = {
			...{ address: server.address, lots, ms: new Map(), statuses: new Map(), faults: [] },
			...{ measured: [], saved: 0, told: 0, moisture: await newestId(database) }
		};
		const before = await versionOf(database);
		await Promise.all(people.map((person) => workOne(work, person, options)));
		await check(database, server.databaseUrl, work, before);
		const { ms, statuses, faults, measured, saved, told } = work;
		return { ms, statuses, faults, recorded: measured.length + saved, told };
	} finally {
		await database.close();
	}
}

async function workOne(work: Work, person: Person, options: ManyOptions): Promise<void> {
	const [least, most] = options.pauseMs;
	for (let turn = 0; options.goesOn(turn); turn++) {
		await new Promise((resolve) => setTimeout(resolve, least + (most - least) * person.random()));
		const kind = person.random();
		if (kind < 0.2 && person.role !== 'viewer' && person.role !== 'finance')
			await measure(work, person);
		else if (kind < 0.3 && mayOpen(person.role, '/setup/products')) await editProduct(work, person);
		else if (kind < 0.45) await readPage(work, person, `/lots/${lotOf(work, person)}`, 'a lot');
		else await readPage(work, person, PAGES[Math.floor(person.random() * PAGES.length)]!);
	}
}

const lotOf = ({ lots }: Work, { random }: Person) => lots[Math.floor(random() * lots.length)]!;

async function readPage(work: Work, person: Person, path: string, kind = path): Promise<string> {
	const { status, text } = await ask(work, person, kind, path);
	if (status !== 200) work.faults.push(`${kind} answered ${status}: ${text.slice(0, 200)}`);
	return text;
}

/** Each moisture is given once, so that each record can be found. */
async function measure(work: Work, person: Person): Promise<void> {
	const moisture = (8 + (++work.moisture % 70_000) / 10_000).toFixed(4);
	const body = new URLSearchParams({
		'measurement-stage': 'arrival',
		'measurement-at': '2026-01-05T10:00',
		'measurement-moisture_pct': moisture
	});
	const path = `/lots/${lotOf(work, person)}?/measurement`;
	const { status, text } = await ask(work, person, 'record a measurement', path, body);
	if (status === 303) work.measured.push(moisture);
	else work.faults.push(`measuring answered ${status}: ${text.slice(0, 200)}`);
}

/** Opens the form, waits as a person would who types, and saves: somebody else may have been first. */
async function editProduct(work: Work, person: Person): Promise<void> {
	const path = `/setup/products/${PRODUCT}`;
	const html = await readPage(work, person, path, 'open a form');
	const form = formsOf(html, path).find(({ address }) => address.endsWith('?/product'));
	if (!form) return void work.faults.push('The form of a product is missing.');
	await new Promise((resolve) => setTimeout(resolve, 200 * person.random()));
	const price = (10 + person.random() * 20).toFixed(2);
	const body = new URLSearchParams(form.fields.map(([name, value]) => [name, value]));
	body.set('price_per_kg', price);
	const answer = await ask(work, person, 'edit a product', form.address, body);
	if (answer.status === 303) work.saved++;
	else if (answer.status === 400 && isTold(answer.text, path, price)) work.told++;
	else work.faults.push(`editing answered ${answer.status}: ${answer.text.slice(0, 200)}`);
}

/** The second of two editors is told who was first, and what was typed is there still. */
function isTold(html: string, path: string, price: string): boolean {
	const form: Form | undefined = formsOf(html, path)[0];
	return /was changed by Person/.test(html) && !!form?.fields.some(([, value]) => value === price);
}

async function ask(
	{ address, ms, statuses }: Work,
	{ session }: Person,
	kind: string,
	path: string,
	body?: URLSearchParams
): Promise<{ status: number; text: string }> {
	const started = performance.now();
	const response = await fetch(address + path, {
		// A page may send on to its newest week; what was saved is told by being sent on.
		redirect: body ? 'manual' : 'follow',
		// Not kept: a connection that the server ends just then would look like a fault.
		headers: {
			...cookieHeader(session),
			...{ origin: address, accept: 'text/html', connection: 'close' }
		},
		...(body ? { method: 'POST', body } : {})
	});
	const text = await response.text();
	const all = ms.get(kind) ?? [];
	all.push(performance.now() - started);
	ms.set(kind, all);
	const key = `${kind}: ${response.status}`;
	statuses.set(key, (statuses.get(key) ?? 0) + 1);
	return { status: response.status, text };
}

async function newestId({ orm }: Database): Promise<number> {
	const [row] = await orm.all<{ n: number | null }>(sql`select max(id) as n from measurement`);
	return row?.n ?? 0;
}

async function versionOf({ orm }: Database): Promise<number> {
	const [row] = await orm.all<{ version: number }>(
		sql`select version from product where code = ${PRODUCT}`
	);
	return row!.version;
}

/** Every acknowledged record is there once, each edit raised the version by one, and the file is whole. */
async function check(database: Database, url: string, work: Work, before: number): Promise<void> {
	const rows = await database.orm.all<{ moisture: number; n: number }>(
		sql`select moisture_pct as moisture, count(*) as n from measurement where "by" like 'Person %' group by moisture_pct`
	);
	const found = new Map(rows.map(({ moisture, n }) => [moisture.toFixed(4), n]));
	for (const moisture of work.measured)
		if (found.get(moisture) !== 1)
			work.faults.push(`${moisture} % is there ${found.get(moisture) ?? 0} times.`);
	const raised = (await versionOf(database)) - before;
	if (raised !== work.saved)
		work.faults.push(`${work.saved} edits were acknowledged, the version rose by ${raised}.`);
	const below = await database.orm.all<{ lot: number; grams: number }>(
		sql`select lot_id as lot, sum(mass_g) as grams from movement group by lot_id having sum(mass_g) < 0`
	);
	work.faults.push(...below.map(({ lot, grams }) => `Lot ${lot} has ${grams} g.`));
	const inspected = await inspectDatabase(pathOf(url)!);
	if (!inspected.ok) work.faults.push(...inspected.problems.map(({ message }) => message));
}

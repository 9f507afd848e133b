import { DatabaseSync } from 'node:sqlite';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { seededChance } from '#lib/domain/stats/chance.ts';
import { formsOf, routeActions, type Form } from '#support/forms.ts';
import { startServer, type TestServer } from '#support/server.ts';
import { PAGES } from './pages.ts';

/**
 * Every action of every route, found from the folder, gets what no browser would send. Rules: it answers,
 * never with an error of ours; what it refuses it has not written; the page with the input is shown again.
 */
const SEED = 20261125;

const actions = await routeActions();

let server: TestServer;
let forms: readonly Form[];
let watch: DatabaseSync;

beforeAll(async () => {
	server = await startServer({ entry: 'demo' });
	watch = new DatabaseSync(server.databaseUrl.replace(/^file:/, ''), { readOnly: true });
	const intake = await post('/intake', (form) => {
		form.append('files', new Blob(['time_s,bean_c\n0,20\n1,21\n']), 'HR-151 arrival.csv');
	});
	expect(intake.type).toBe('redirect');
	const pages = [...PAGES, intake.location, `${intake.location}/1`];
	const found: Form[] = [];
	for (const page of pages) {
		const response = await fetch(server.address + page);
		found.push(...formsOf(await response.text(), new URL(response.url).pathname));
	}
	forms = found;
}, 300_000);
afterAll(async () => {
	watch.close();
	await server.stop();
});

interface Answer {
	readonly status: number;
	/** What Kit calls the outcome: success, failure, redirect or error; html when the page itself came. */
	readonly type: string;
	readonly location: string;
	readonly text: string;
}

async function send(address: string, init: RequestInit, html = false): Promise<Answer> {
	const response = await fetch(server.address + address, {
		...init,
		method: 'POST',
		redirect: 'manual',
		headers: {
			origin: server.address,
			...(html
				? { accept: 'text/html' }
				: { accept: 'application/json', 'x-sveltekit-action': 'true' }),
			...(init.headers as Record<string, string>)
		}
	});
	const text = await response.text();
	const isJson = !html && text.startsWith('{');
	const json = isJson
		? (JSON.parse(text) as { type?: string; status?: number; location?: string })
		: {};
	return {
		status: json.status ?? response.status,
		type: json.type ?? (response.status >= 400 ? 'failure' : 'html'),
		location: json.location ?? response.headers.get('location') ?? '',
		text
	};
}

function post(address: string, fill: (form: FormData) => void, html = false) {
	const form = new FormData();
	fill(form);
	return send(address, { body: form }, html);
}

const NASTY: readonly string[] = [
	...['', ' ', '\0', '-1', '0', '1e309', 'NaN', '-0', '1,5', '9007199254740993', '0x10', '١٢'],
	...['<img src=x onerror=alert(1)>', '"><script>alert(1)</script>', '=1+2', "' OR 1=1 --"],
	...['9999-12-31', '0000-00-00', '2026-02-30', '2026-11-25T25:61', '-271821-04-20', '2026-W54'],
	...[
		'__proto__',
		'constructor',
		'../..',
		'\u202e',
		'\ud800',
		'\ufeff',
		'x\r\ny',
		'24:00',
		'{}',
		'[]'
	],
	...['x'.repeat(5000), '9'.repeat(400)]
];

/** Every address of an action: those that the pages show, and made-up ones for the others. */
function addresses(): ReadonlyMap<string, string> {
	const shown = forms.flatMap(({ address, otherAddresses }) => [address, ...otherAddresses]);
	const all = new Map<string, string>();
	for (const [folder, names] of actions)
		for (const name of names) {
			const pattern = new RegExp(
				`^${folder.replace(/\[[^\]]+\]/g, '[^/?]+')}${name === 'default' ? '(\\?(?!/).*)?' : `\\?/${name}(&.*)?`}$`
			);
			const made = folder.replace(/\[[^\]]+\]/g, '1') + (name === 'default' ? '' : `?/${name}`);
			all.set(`${folder} ${name}`, shown.find((address) => pattern.test(address)) ?? made);
		}
	return all;
}

type Field = readonly [name: string, value: string];

/** What is sent instead of `fields`: one way of filling a form that no browser has. */
const FILLINGS: Readonly<
	Record<string, (fields: readonly Field[], chance: () => number) => Field[]>
> = {
	'nothing at all': () => [],
	'every field blank': (fields) => fields.map(([name]) => [name, '']),
	'one nasty value in every field': (fields, chance) => {
		const value = pick(NASTY, chance);
		return fields.map(([name]) => [name, value]);
	},
	'markup in every field': (fields) => fields.map(([name]) => [name, MARKUP]),
	'nasty values in every field': (fields, chance) =>
		fields.map(([name]) => [name, pick(NASTY, chance)]),
	'one field nasty': oneNasty,
	'one field missing': (fields, chance) => {
		const [left] = pick([...fields], chance) ?? [''];
		return fields.filter(([name]) => name !== left);
	},
	'every field twice': (fields, chance) => [
		...fields,
		...fields.map(([name]): Field => [name, pick(NASTY, chance)])
	],
	'one field huge': (fields, chance) => {
		const [huge] = pick([...fields], chance) ?? [''];
		return fields.map(([name, value]) => [name, name === huge ? 'x'.repeat(300_000) : value]);
	}
};

const MARKUP = '"><img src=x onerror=alert(1)><script>alert(2)</script>';

function oneNasty(fields: readonly Field[], chance: () => number): Field[] {
	const [changed] = pick([...fields], chance) ?? [''];
	const value = pick(NASTY, chance);
	return fields.map(([name, was]) => [name, name === changed ? value : was]);
}

function pick<T>(all: readonly T[], chance: () => number): T {
	return all[Math.floor(chance() * all.length)]!;
}

/** Counts the commits of others: any write by the server changes it. */
const written = () =>
	(watch.prepare('PRAGMA data_version').get() as { data_version: number }).data_version;

const ODD_TYPES = ['application/json', 'multipart/form-data', 'multipart/form-data; boundary=x'];

/** A refusal of these is counted: too many of them are throttled. */
const COUNTED = /^\/sign-in |^\/me (password|prove|factor|no_factor)/;

/** These have work done beside the request, which writes when it likes: so they come last. */
const JOBS = ['/readings default', '/week/[week] search'];
const actionNames = [...actions]
	.flatMap(([folder, names]) => names.map((name) => `${folder} ${name}`))
	.sort((a, b) => JOBS.indexOf(a) - JOBS.indexOf(b));
const tally = { actions: 0, refused: 0 };

it.each(actionNames)(
	'%s answers whatever it is sent, and a refusal has written nothing',
	async (action) => {
		const chance = seededChance(SEED + actionNames.indexOf(action));
		const wrong: string[] = [];
		const address = addresses().get(action)!;
		const form = forms.find((each) => [each.address, ...each.otherAddresses].includes(address));
		const fields = form?.fields ?? everyName().map((name): Field => [name, '1']);
		let refused = 0;
		const judge = (how: string, before: number, { status, type, text }: Answer) => {
			if (status >= 500) wrong.push(`${how}: ${status} ${text.slice(0, 200)}`);
			if (type !== 'failure' && type !== 'error') return;
			refused++;
			if (written() !== before && !COUNTED.test(action))
				wrong.push(`${how}: refused (${status}) and yet something was written`);
		};
		for (const [how, filling] of Object.entries(FILLINGS)) {
			// A form without fields can be filled in one way only.
			if (fields.length === 0 && how !== 'nothing at all') continue;
			const before = written();
			const filled = filling(fields, chance);
			const html = how === 'markup in every field';
			const answer = await post(
				address,
				(data) => filled.forEach(([n, v]) => data.append(n, v)),
				html
			);
			judge(how, before, answer);
			if (html && answer.text.includes(MARKUP.slice(2)))
				wrong.push(`${how}: the markup came back as markup`);
		}
		const before = written();
		const files = await post(address, (data) => {
			for (const [name] of fields) data.append(name, new Blob(['\0\x01PK']), '../\u202ex.csv');
			for (const name of form?.files ?? []) data.append(name, 'no file');
		});
		judge('files for text and text for files', before, files);
		const type = pick(ODD_TYPES, chance);
		const odd = await send(address, { body: '{"a":[1', headers: { 'content-type': type } });
		judge(`a body of ${type} that is none`, written(), odd);
		expect(wrong).toEqual([]);
		tally.actions++;
		if (refused > 0) tally.refused++;
	}
);

it('most actions refused something', () => {
	expect(tally.actions).toBe(actionNames.length);
	expect(tally.refused).toBeGreaterThan(actionNames.length * 0.85);
});

it('nothing was logged that nobody foresaw', () => {
	expect(server.output().match(/"error":".{0,300}/g) ?? []).toEqual([]);
});

/** For a form that no page shows now: a bag of every name there is. */
const everyName = () =>
	[...new Set(forms.flatMap(({ fields }) => fields.map(([name]) => name)))].slice(0, 120);

it('most actions are met by the form that their page shows', () => {
	const shown = new Set(
		forms.flatMap(({ address, otherAddresses }) => [address, ...otherAddresses])
	);
	const met = [...addresses().values()].filter((address) => shown.has(address));
	expect(met.length).toBeGreaterThan(addresses().size * 0.6);
});

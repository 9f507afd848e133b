import { afterAll, beforeAll, expect, it } from 'vitest';
import { openDatabase } from '#lib/server/db/client.ts';
import { owner } from '#support/actors.ts';
import { formsOf, type Form } from '#support/forms.ts';
import { startServer, type TestServer } from '#support/server.ts';
import { cookieHeader, signedIn } from '#support/session.ts';
import { arrivedLot, setUpRoastery } from '#support/smallRoastery.ts';

/**
 * Two people open the same form, one saves, then the other: the second is told who changed what and when, nothing
 * is overwritten, and what was typed stands in the form that comes back (commands/versions.ts).
 */

let server: TestServer;
let ada: string;
let ben: string;

beforeAll(async () => {
	server = await startServer();
	const database = await openDatabase({ url: server.databaseUrl });
	const act = { database, now: Date.now(), actor: owner('Nell') };
	await setUpRoastery(act);
	await arrivedLot(act, 'A-1');
	await database.close();
	[ada, ben] = [
		await signedIn(server.databaseUrl, 'owner', 'Ada'),
		await signedIn(server.databaseUrl, 'owner', 'Ben')
	];
	await signedIn(server.databaseUrl, 'viewer', 'Cy');
});
afterAll(() => server.stop());

/** What is typed: one field, named whole or by its beginning, and what stands in the others where it must. */
interface Edit {
	readonly what: string;
	readonly path: string;
	readonly field: string | RegExp;
	readonly values: readonly [ada: string, ben: string];
	readonly others?: Readonly<Record<string, string>>;
}

const EDITS: readonly Edit[] = [
	{ what: 'the site', path: '/setup/site', field: 'altitude_m', values: ['31', '32'] },
	{ what: 'a roaster', path: '/setup/roasters/R15', field: 'name', values: ['Big', 'Bigger'] },
	{ what: 'shifts', path: '/setup/roasters/R15', field: 'end_1_0', values: ['16:10', '16:20'] },
	{
		what: 'cost rates',
		path: '/setup/roasters/R15?from=2026-01-01',
		field: 'labour_per_hour',
		values: ['19.10', '19.20']
	},
	{
		what: 'how logs are read',
		path: '/setup/roasters/R15/logs',
		field: 'reason',
		values: ['probe moved by Ada', 'probe moved by Ben']
	},
	{ what: 'a product', path: '/setup/products/HOUSE', field: 'name', values: ['Home', 'Hearth'] },
	{
		what: 'a blend',
		path: '/setup/products/HOUSE',
		field: 'from',
		values: ['2026-11-23', '2026-11-30'],
		others: { lot_0: 'A-1', share_0: '100' }
	},
	{ what: 'orders', path: '/setup/orders', field: /^kg\|/, values: ['31', '32'] },
	{ what: 'what a plan weighs', path: '/setup/plan', field: 'lateKg', values: ['3.1', '3.2'] },
	{
		what: 'a supplier',
		path: '/setup/suppliers?supplier=Seed',
		field: 'lead_days',
		values: ['31', '32']
	},
	{ what: 'accounts', path: '/cost/accounts', field: /_code$/, values: ['7101', '7102'] },
	{ what: 'a budget', path: '/cost/ahead', field: 'amount', values: ['310', '320'] },
	{ what: 'a role', path: '/setup/people', field: 'role', values: ['quality', 'finance'] }
];

async function read(path: string, session: string): Promise<string> {
	const response = await fetch(server.address + path, { headers: cookieHeader(session) });
	expect(response.status).toBe(200);
	return response.text();
}

const isField = (name: string, { field }: Edit) =>
	typeof field === 'string' ? name === field : field.test(name);

/** The form that a person has open: the one with that field and with what tells what was seen. */
function formOf(html: string, edit: Edit): Form {
	const form = formsOf(html, edit.path).findLast(({ fields }) =>
		[edit.field, /^(version|seen)/].every((wanted) =>
			fields.some(([name]) => (typeof wanted === 'string' ? name === wanted : wanted.test(name)))
		)
	);
	if (!form) throw new Error(`Found no form on ${edit.path}.`);
	return form;
}

function send(form: Form, session: string, edit: Edit, value: string): Promise<Response> {
	const body = new URLSearchParams(form.fields.map(([name, of]) => [name, of]));
	body.set(form.fields.find(([name]) => isField(name, edit))![0], value);
	for (const [name, of] of Object.entries(edit.others ?? {})) body.set(name, of);
	return fetch(server.address + form.address, {
		method: 'POST',
		redirect: 'manual',
		headers: { ...cookieHeader(session), origin: server.address, accept: 'text/html' },
		body
	});
}

it.each(EDITS)('$what: the second is told and keeps the input', async (edit) => {
	const [adas, bens] = [
		formOf(await read(edit.path, ada), edit),
		formOf(await read(edit.path, ben), edit)
	];
	const first = await send(adas, ada, edit, edit.values[0]);
	expect(first.status, await alertOf(first)).toBe(303);
	const second = await send(bens, ben, edit, edit.values[1]);
	expect(second.status).toBe(400);
	const html = await second.text();
	expect(textOfAlert(html)).toMatch(/by Ada, \d+ \w{3} \d{4}, \d\d:\d\d/);
	// Roles are told in words, since a page of small forms keeps none of them open.
	if (edit.what === 'a role') expect(textOfAlert(html)).toContain(`You chose ${edit.values[1]}`);
	else expect(formOf(html, edit).fields.map(([, value]) => value)).toContain(edit.values[1]);
	// Told, Ben may replace it.
	const again = await send(formOf(html, edit), ben, edit, edit.values[1]);
	expect(again.status, await alertOf(again)).toBe(303);
});

const textOfAlert = (html: string) =>
	[...html.matchAll(/role="alert"[\s\S]*?<\/ul>/g)].join(' ').replace(/<[^>]*>/g, '');

async function alertOf(response: Response): Promise<string> {
	return response.status === 303 ? '' : textOfAlert(await response.text());
}

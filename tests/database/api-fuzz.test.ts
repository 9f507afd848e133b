import { randomUUID } from 'node:crypto';
import fc from 'fast-check';
import { afterAll, beforeAll, expect, it, vi } from 'vitest';
import type { Act } from '#lib/server/commands/act.ts';
import { openApiDocument } from '#lib/server/api/openapi.ts';
import { OPERATIONS } from '#lib/server/api/operations.ts';
import { owner } from '#support/actors.ts';
import { callApi } from '#support/api.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { arrivedLot, setUpRoastery } from '#support/smallRoastery.ts';

/** Whatever a program sends, it is answered or refused: never an error of ours. */

let db: TestDatabase;
let act: Act;

beforeAll(async () => {
	db = await newDatabase();
	act = { database: db.database, now: Date.UTC(2026, 10, 25, 9), actor: owner('Nell') };
	await setUpRoastery(act);
	await arrivedLot(act, 'A-1');
});
afterAll(() => db.remove());

const NASTY = [
	...[
		'',
		' ',
		'..',
		'../../etc/passwd',
		'%',
		'%00',
		'\0',
		"' OR 1=1 --",
		'<script>alert(1)</script>'
	],
	...['-1', '0', '1e309', 'NaN', '9007199254740993', '0x10', '１', '=1+2', '${7*7}', '__proto__'],
	...['constructor', '\u202e', '\ud800', 'x'.repeat(5000), '2026-W00', '2026-W53', '9999-W52']
];
const text = fc.oneof(
	fc.constantFrom(...NASTY, 'A-1', '1', '2026-W48', randomUUID()),
	fc.string({ unit: 'binary', maxLength: 40 })
);
const body = fc.oneof(
	fc.constant(undefined),
	fc.uint8Array({ maxLength: 200 }),
	fc.json().map((json) => new TextEncoder().encode(json)),
	fc.record({ fileName: text }, { requiredKeys: [] }),
	fc
		.record({ chunks: fc.anything(), sha256: text, about: fc.dictionary(text, text) })
		.map((value) => {
			try {
				JSON.stringify(value);
				return value;
			} catch {
				return {};
			}
		})
);
/** Dots alone and nothing never reach a route: whoever makes the address leads elsewhere. */
const inPath = (value: string) =>
	/^\.{0,2}$/.test(value) ? '%20' : encodeURIComponent(value.toWellFormed());
interface Said {
	readonly operationId: string;
}
const byId = new Map(OPERATIONS.map((op) => [op.id, op]));

it('answers or refuses 400 made-up calls', async () => {
	const complained = vi.spyOn(console, 'error').mockImplementation(() => undefined);
	const called = new Set<string>();
	const call = fc.record({
		id: fc.constantFrom(...byId.keys()),
		params: fc.array(text, { minLength: 2, maxLength: 2 }),
		query: fc.dictionary(
			fc.oneof(fc.constantFrom('limit', 'cursor', 'stage', 'lot', 'by', 'period'), text),
			text,
			{ maxKeys: 3 }
		),
		body
	});
	await fc.assert(
		fc.asyncProperty(call, async ({ id, params, query, body: sent }) => {
			const op = byId.get(id)!;
			let n = 0;
			const path = op.path.replace(/\{\w+\}/g, () => inPath(params[n++]!));
			const search = new URLSearchParams(query).toString();
			const given = op.method === 'GET' ? undefined : sent;
			const { status, type } = await callApi(act, op.method, `${path}?${search}`, given);
			called.add(id);
			expect([200, 204, 400, 404, 409, 413, 422]).toContain(status);
			if (status >= 400) expect(type).toBe('application/problem+json');
		}),
		{ numRuns: 400 }
	);
	// Every call that the document knows was among them.
	const { paths } = openApiDocument(OPERATIONS) as { paths: Record<string, Record<string, Said>> };
	const said = Object.values(paths).flatMap((path) => Object.values(path));
	expect([...called].sort()).toEqual(said.map(({ operationId }) => operationId).sort());
	expect(complained).not.toHaveBeenCalled();
	complained.mockRestore();
});

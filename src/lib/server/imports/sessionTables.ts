/** Tables of blind cupping sessions: the sessions, what stood on their tables, and the sheets. */
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import * as cell from './cells.ts';
import type { SheetFields } from './cuppingFields.ts';
import { filled, maybe, orElse, type Column, type TableSpec } from './tableFile.ts';

type RowOf<C> = { readonly [K in keyof C]: C[K] extends Column<infer V> ? V : never };

const session = filled('session', cell.whole(1, 1_000_000));
const place = filled('place', cell.whole(1, 40));

const sessionColumns = {
	session,
	name: filled('name', cell.text),
	form: filled('form', cell.choice(['2004', '2024'])),
	/** Gives the codes again that stood on the cups. */
	seed: filled('seed', cell.whole(0, 2 ** 31)),
	openedAt: filled('opened_at', cell.localTime),
	openedBy: filled('opened_by', cell.text),
	closedAt: maybe('closed_at', cell.localTime),
	closedBy: maybe('closed_by', cell.text),
	/** Names apart by semicolons. */
	keySeenBy: orElse('key_seen_by', cell.text, '')
};

export type SessionRecord = RowOf<typeof sessionColumns>;

export const cuppingSessionsTable: TableSpec<SessionRecord> = {
	name: 'cupping sessions',
	columns: sessionColumns,
	key: ['session'],
	finish: (row) =>
		(row.closedAt === null) === (row.closedBy === null)
			? good(row)
			: bad({ path: 'closed_by', message: 'found one of closed_at and closed_by, expected both' })
};

const cupColumns = {
	session,
	place,
	lot: maybe('lot', cell.code),
	test: maybe('test', cell.whole(1, 99)),
	/** When the sample of the lot was roasted. */
	sample: maybe('sample', cell.localTime),
	reference: maybe('reference', cell.text)
};

export type SessionCupRecord = RowOf<typeof cupColumns>;

export const sessionCupsTable: TableSpec<SessionCupRecord> = {
	name: 'cups of sessions',
	columns: cupColumns,
	key: ['session', 'place'],
	finish: (row) => {
		const kinds = [row.test, row.sample, row.reference].filter((each) => each !== null);
		if (kinds.length !== 1)
			return bad({
				path: 'test',
				message: `found ${kinds.length} of test, sample and reference, expected one`
			});
		if ((row.lot === null) !== (row.reference !== null))
			return bad({ path: 'lot', message: 'expected the lot of a test or sample, and none else' });
		return good(row);
	}
};

const sheetColumns = {
	session,
	place,
	by: filled('by', cell.text),
	savedAt: filled('saved_at', cell.localTime),
	/** `flavour 7.5; body 8`: fields of the form as far as they were filled. */
	scores: orElse('scores', cell.text, ''),
	descriptors: orElse('descriptors', cell.text, ''),
	note: orElse('note', cell.text, '')
};

export interface SessionSheetRecord {
	readonly session: number;
	readonly place: number;
	readonly by: string;
	readonly savedAt: cell.LocalTime;
	readonly fields: SheetFields;
}

export const sessionSheetsTable: TableSpec<SessionSheetRecord, RowOf<typeof sheetColumns>> = {
	name: 'sheets of sessions',
	columns: sheetColumns,
	key: ['session', 'place', 'by'],
	finish: finishSheet
};

function finishSheet(row: RowOf<typeof sheetColumns>): Outcome<SessionSheetRecord> {
	const { scores, descriptors, note, ...rest } = row;
	const pairs = scores.split(';').filter((pair) => pair.trim() !== '');
	const read = pairs.map((pair) => /^\s*([A-Za-z]+)\s+(\d+(?:\.\d+)?)\s*$/.exec(pair));
	const wrong = read.findIndex((pair) => pair === null);
	if (wrong >= 0)
		return bad({
			path: 'scores',
			message: `found '${pairs[wrong]!.trim()}', expected a field and its score such as flavour 7.5`
		});
	const fields = Object.fromEntries(read.map((pair) => [pair![1]!, pair![2]!]));
	return good({ ...rest, fields: { ...fields, descriptors, note } });
}

/** Fields of a sheet as the `scores` column has them. */
export function scoresText(fields: SheetFields): string {
	return Object.entries(fields)
		.filter(([name]) => name !== 'descriptors' && name !== 'note')
		.map(([name, value]) => `${name} ${value}`)
		.join('; ');
}

import { and, eq } from 'drizzle-orm';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { sampleRoast, testBatch } from '../db/schema.ts';
import { instantOf } from '../imports/cells.ts';
import type {
	SessionCupRecord,
	SessionRecord,
	SessionSheetRecord
} from '../imports/sessionTables.ts';
import type { TableRow } from '../imports/tableFile.ts';
import type { Deed } from './act.ts';
import { closeCuppingSession } from './closeCuppingSession.ts';
import { lookAtCuppingKey } from './lookAtCuppingKey.ts';
import { openCuppingSession, type TableCoffee } from './openCuppingSession.ts';
import { scoreCup } from './scoreCup.ts';

/**
 * Cupping sessions of a roastery's tables, done again through the acts of the pages. A session spans lots,
 * so it is done in one go at the moment it was closed: what came before has happened by then, and verdicts
 * that rest on it come after.
 */

interface SessionTables {
	readonly 'cupping_sessions.csv': readonly TableRow<SessionRecord>[];
	readonly 'session_cups.csv': readonly TableRow<SessionCupRecord>[];
	readonly 'session_sheets.csv': readonly TableRow<SessionSheetRecord>[];
}

/** A session to be done again. */
export interface PastSession {
	/** When it was closed; after everything else while it is open. */
	readonly at: InstantMs;
	readonly run: (deed: Deed) => Promise<Outcome<unknown>>;
}

/** The sessions of a roastery's tables in the order of their closing. */
export function pastSessions(
	tables: SessionTables,
	lots: ReadonlyMap<string, number>,
	zone: string,
	now: InstantMs
): Outcome<PastSession[]> {
	const sessions = tables['cupping_sessions.csv'];
	const known = new Set(sessions.map(({ value }) => value.session));
	const problems: Problem[] = [];
	for (const file of ['session_cups.csv', 'session_sheets.csv'] as const)
		for (const { row, value } of tables[file])
			if (!known.has(value.session))
				problems.push({
					path: `${file} row ${row}, session`,
					message: `There is no session ${value.session} in cupping_sessions.csv.`
				});
	for (const { row, value } of sessions)
		for (const [name, local] of [
			['opened_at', value.openedAt],
			['closed_at', value.closedAt]
		] as const)
			if (local !== null && instantOf(local, zone) > now)
				problems.push({
					path: `cupping_sessions.csv row ${row}, ${name}`,
					message: `Found ${local}, which is still to come.`
				});
	if (problems.length > 0) return bad(...problems);
	const list = sessions.map((session): PastSession => ({
		at: session.value.closedAt === null ? Infinity : instantOf(session.value.closedAt, zone),
		run: (deed) => sessionAgain(deed, session, tables, lots, zone)
	}));
	return good(list.sort((a, b) => a.at - b.at));
}

async function sessionAgain(
	deed: Deed,
	{ row, value }: TableRow<SessionRecord>,
	tables: SessionTables,
	lots: ReadonlyMap<string, number>,
	zone: string
): Promise<Outcome<unknown>> {
	const where = `cupping_sessions.csv row ${row}`;
	const cups = tables['session_cups.csv']
		.filter((cup) => cup.value.session === value.session)
		.sort((a, b) => a.value.place - b.value.place);
	const coffees: TableCoffee[] = [];
	for (const [i, cup] of cups.entries()) {
		const found = await coffeeOf(deed, cup.value, lots, zone);
		const at = `session_cups.csv row ${cup.row}`;
		if (!found.ok) return located(found.problems, at);
		if (cup.value.place !== i + 1)
			return bad({ path: `${at}, place`, message: `Found ${cup.value.place}, expected ${i + 1}.` });
		coffees.push(found.value);
	}
	const { name, form, seed } = value;
	const openedAt = instantOf(value.openedAt, zone);
	const opened = await openCuppingSession(
		{ ...deed, by: value.openedBy },
		{ ...{ name, form, seed }, openedAt, coffees }
	);
	if (!opened.ok) return located(opened.problems, where);
	const { sessionId, codes } = opened.value;
	for (const by of value.keySeenBy.split(';').map((each) => each.trim()))
		if (by !== '') await lookAtCuppingKey({ ...deed, by }, sessionId);
	for (const sheet of tables['session_sheets.csv']) {
		if (sheet.value.session !== value.session) continue;
		const scored = await scoreCup(
			{ ...deed, by: sheet.value.by },
			{
				sessionId,
				code: codes[sheet.value.place - 1] ?? '',
				fields: sheet.value.fields,
				savedAt: instantOf(sheet.value.savedAt, zone)
			}
		);
		if (!scored.ok) return located(scored.problems, `session_sheets.csv row ${sheet.row}`);
	}
	if (value.closedAt === null) return good(null);
	const closed = await closeCuppingSession(
		{ ...deed, by: value.closedBy! },
		{ sessionId, closedAt: instantOf(value.closedAt, zone), leaveOut: true }
	);
	return closed.ok ? closed : located(closed.problems, where);
}

async function coffeeOf(
	{ tx }: Deed,
	cup: SessionCupRecord,
	lots: ReadonlyMap<string, number>,
	zone: string
): Promise<Outcome<TableCoffee>> {
	if (cup.reference !== null) return good({ reference: cup.reference });
	const lotId = lots.get(cup.lot!);
	if (lotId === undefined) return bad({ path: 'lot', message: `There is no lot ${cup.lot}.` });
	if (cup.test !== null) {
		const isIt = and(eq(testBatch.lotId, lotId), eq(testBatch.number, cup.test));
		const rows = await tx.select({ id: testBatch.id }).from(testBatch).where(isIt);
		return rows[0]
			? good({ testBatchId: rows[0].id })
			: bad({ path: 'test', message: `The lot has no test ${cup.test}.` });
	}
	const isIt = and(
		eq(sampleRoast.lotId, lotId),
		eq(sampleRoast.roastedAt, instantOf(cup.sample!, zone))
	);
	const rows = await tx.select({ id: sampleRoast.id }).from(sampleRoast).where(isIt);
	return rows[0]
		? good({ sampleId: rows[0].id })
		: bad({ path: 'sample', message: `No sample of the lot was roasted at ${cup.sample}.` });
}

function located(problems: readonly Problem[], where: string): Outcome<never> {
	return bad(...problems.map((p) => ({ path: `${where}, ${p.path}`, message: p.message })));
}

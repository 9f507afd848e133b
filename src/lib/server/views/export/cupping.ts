import { scoresText } from '../../imports/sessionTables.ts';
import { loadCups, loadKeySeen, loadSessions, loadSheets } from '../../store/cuppings.ts';
import { local, real } from './cell.ts';
import { asImported, type ExportSource, type ExportTable } from './table.ts';

/** Blind cupping sessions: with seed and places the codes come out as they were. */

/** The oldest first. */
async function sessionsOf({ db }: ExportSource) {
	return (await loadSessions(db)).toSorted((a, b) => a.id - b.id);
}

export async function cuppingSessionsTable(source: ExportSource): Promise<ExportTable> {
	const sessions = await sessionsOf(source);
	const seen = await Promise.all(sessions.map(({ id }) => loadKeySeen(source.db, id)));
	return asImported(
		'cupping_sessions.csv',
		sessions.map((row, i) => ({
			session: real(row.id),
			...{ name: row.name, form: row.form, seed: real(row.seed) },
			openedAt: local(row.openedAt, source.zone),
			openedBy: row.openedBy,
			closedAt: local(row.closedAt, source.zone),
			closedBy: row.closedBy,
			keySeenBy: seen[i]!.join('; ')
		}))
	);
}

export async function sessionCupsTable(source: ExportSource): Promise<ExportTable> {
	const cups = await loadCups(source.db);
	return asImported(
		'session_cups.csv',
		cups
			.toSorted((a, b) => a.sessionId - b.sessionId || a.place - b.place)
			.map((cup) => ({
				...{ session: real(cup.sessionId), place: real(cup.place) },
				...{ lot: cup.lotCode, test: real(cup.testNumber), reference: cup.reference },
				sample: local(cup.roastedAt, source.zone)
			}))
	);
}

export async function sessionSheetsTable(source: ExportSource): Promise<ExportTable> {
	const [sessions, cups] = await Promise.all([sessionsOf(source), loadCups(source.db)]);
	const places = new Map(cups.map((cup) => [cup.id, cup.place]));
	const sheets = await Promise.all(sessions.map(({ id }) => loadSheets(source.db, id)));
	return asImported(
		'session_sheets.csv',
		sheets.flatMap((ofSession, i) =>
			ofSession.map((sheet) => ({
				session: real(sessions[i]!.id),
				place: real(places.get(sheet.cupId)!),
				by: sheet.by,
				savedAt: local(sheet.savedAt, source.zone),
				scores: scoresText(sheet.fields),
				descriptors: sheet.fields['descriptors'] ?? null,
				note: sheet.fields['note'] ?? null
			}))
		)
	);
}

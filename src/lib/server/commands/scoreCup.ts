import { and, eq } from 'drizzle-orm';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { sessionCup, sessionSheet } from '../db/schema.ts';
import { keptFields, type SheetFields } from '../imports/cuppingFields.ts';
import { findSession } from '../store/cuppings.ts';
import { note, type Deed } from './act.ts';
import { versionProblem, type SeenVersion } from './versions.ts';

export interface ScoreInput {
	readonly sessionId: number;
	/** Code on the cup. */
	readonly code: string;
	/** As typed: whatever there is of it is kept, finished or not. */
	readonly fields: SheetFields;
	readonly savedAt: InstantMs;
}

/**
 * Keeps one cupper's sheet of one cup as far as it is filled. The cupper is whoever does the deed. A sheet
 * is noted once, when it is begun; the many savings after that change it in place. The same again changes
 * nothing, so that a telephone may send twice what it got no answer to.
 */
export async function scoreCup(
	deed: Deed,
	input: ScoreInput,
	seen: SeenVersion = null
): Promise<Outcome<{ version: number }>> {
	const session = await findSession(deed.tx, input.sessionId);
	if (!session) return bad({ path: 'session', message: 'There is no such session.' });
	if (session.closedAt !== null)
		return bad({
			path: 'session',
			message: `${session.closedBy} closed the session; nothing can be added to it. What you entered was not saved and is still shown here.`
		});
	const { sessionId, code } = input;
	const cups = await deed.tx
		.select({ id: sessionCup.id })
		.from(sessionCup)
		.where(and(eq(sessionCup.sessionId, sessionId), eq(sessionCup.code, code)));
	const cup = cups[0];
	if (!cup) return bad({ path: 'code', message: `The session has no cup ${code}.` });
	const existing = await existingSheet(deed, cup.id);
	const fields = keptFields(session.form, input.fields);
	if (existing && sameFields(existing.fields, fields)) return good({ version: existing.version });
	// A sheet begun on another telephone meanwhile is a change of this one, not a newcomer's clash.
	const shown = seen === 0 && existing ? -1 : seen;
	const conflict = await versionProblem(
		deed,
		`Your sheet of ${code}`,
		shown,
		existing?.version ?? 0,
		{
			...{ name: deed.by, at: existing?.savedAt ?? deed.now, what: '' }
		}
	);
	if (conflict) return bad(conflict);
	const version = (existing?.version ?? 0) + 1;
	const values = { cupId: cup.id, by: deed.by, savedAt: input.savedAt, fields, version };
	await deed.tx
		.insert(sessionSheet)
		.values(values)
		.onConflictDoUpdate({ target: [sessionSheet.cupId, sessionSheet.by], set: values });
	if (!existing) await note(deed, 'score a cup', null, { sessionId, code });
	return good({ version });
}

async function existingSheet({ tx, by }: Deed, cupId: number) {
	const rows = await tx
		.select({
			version: sessionSheet.version,
			fields: sessionSheet.fields,
			savedAt: sessionSheet.savedAt
		})
		.from(sessionSheet)
		.where(and(eq(sessionSheet.cupId, cupId), eq(sessionSheet.by, by)));
	return rows[0];
}

function sameFields(a: SheetFields, b: SheetFields): boolean {
	const names = Object.keys(a);
	return names.length === Object.keys(b).length && names.every((name) => a[name] === b[name]);
}

import { eq } from 'drizzle-orm';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { cupping, cuppingSession } from '../db/schema.ts';
import { readSheet } from '../imports/cuppingFields.ts';
import { findSession, loadCups, loadSheets } from '../store/cuppings.ts';
import { note, type Deed } from './act.ts';

export interface CloseInput {
	readonly sessionId: number;
	readonly closedAt: InstantMs;
	/** Whether sheets that are not finished are left out; without it they keep the session open. */
	readonly leaveOut: boolean;
}

/**
 * Closes a blind cupping: every finished sheet becomes a cupping of its test or sample (or of the
 * reference), and from now on the codes say what they stand for.
 */
export async function closeCuppingSession(
	deed: Deed,
	{ sessionId, closedAt, leaveOut }: CloseInput
): Promise<Outcome<{ cuppings: number; leftOut: number }>> {
	const { tx } = deed;
	const session = await findSession(tx, sessionId);
	if (!session) return bad({ path: 'session', message: 'There is no such session.' });
	if (session.closedAt !== null)
		return bad({ path: 'session', message: `${session.closedBy} has closed it already.` });
	const [cups, sheets] = await Promise.all([loadCups(tx, sessionId), loadSheets(tx, sessionId)]);
	const read = sheets.map((sheet) => ({ sheet, form: readSheet(session.form, sheet.fields) }));
	const finished = read.flatMap(({ sheet, form }) =>
		form.ok ? [{ sheet, form: form.value }] : []
	);
	const open = read.filter(({ form }) => !form.ok);
	if (open.length > 0 && !leaveOut)
		return bad(
			...open.map(({ sheet }) => ({
				path: `${sheet.by}, ${sheet.code}`,
				message: 'The sheet is not finished: finish it, or close without unfinished sheets.'
			}))
		);
	if (finished.length === 0)
		return bad({ path: 'session', message: 'No sheet is finished, so there is nothing to keep.' });
	const cupById = new Map(cups.map((cup) => [cup.id, cup]));
	for (const { sheet, form } of finished) {
		const { testBatchId, sampleId } = cupById.get(sheet.cupId)!;
		await tx.insert(cupping).values({
			...{ testBatchId, sampleId, sessionCupId: sheet.cupId, sheet: form },
			cuppedAt: sheet.savedAt,
			descriptors: sheet.fields['descriptors'] ?? '',
			note: sheet.fields['note'] ?? '',
			...{ by: sheet.by, recordedAt: deed.now }
		});
	}
	await tx
		.update(cuppingSession)
		.set({ closedAt, closedBy: deed.by, version: session.version + 1 })
		.where(eq(cuppingSession.id, sessionId));
	const counts = { cuppings: finished.length, leftOut: open.length };
	await note(deed, 'close cupping session', null, { sessionId, name: session.name, ...counts });
	return good(counts);
}

import { csvResponse } from '#lib/server/documents/csv.ts';
import { costQuestion } from '#lib/server/views/cost.ts';
import { journalTable } from '#lib/server/views/export/statement.ts';
import { loadJournal } from '#lib/server/views/journal.ts';
import type { RequestHandler } from './$types';

/** Journal lines of the tests that the same query shows on /cost. */
export const GET: RequestHandler = async ({ locals, url }) => {
	const question = costQuestion(url.searchParams);
	const { lines, currency } = await loadJournal(locals.database.orm, locals.now, question);
	return csvResponse(
		journalTable(lines, currency),
		`test-journal-${question.period ?? '12-months'}.csv`
	);
};

import { csvResponse } from '#lib/server/documents/csv.ts';
import { costQuestion, loadStatement } from '#lib/server/views/cost.ts';
import { fileStem } from '#lib/server/views/costWords.ts';
import { statementTable } from '#lib/server/views/export/statement.ts';
import type { RequestHandler } from './$types';

/** The statement that the same query shows on /cost. */
export const GET: RequestHandler = async ({ locals, url }) => {
	const question = costQuestion(url.searchParams);
	const statement = await loadStatement(locals.database.orm, locals.now, question);
	return csvResponse(statementTable(statement), `${fileStem(statement)}.csv`);
};

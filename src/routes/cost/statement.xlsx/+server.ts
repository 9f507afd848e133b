import { xlsxBytes, xlsxResponse } from '#lib/server/documents/xlsx.ts';
import { costQuestion, loadStatementPaper } from '#lib/server/views/cost.ts';
import { fileStem } from '#lib/server/views/costWords.ts';
import { statementSheets } from '#lib/server/views/export/statement.ts';
import type { RequestHandler } from './$types';

/** The statement that the same query shows on /cost, with the tests behind it. */
export const GET: RequestHandler = async ({ locals, url }) => {
	const question = costQuestion(url.searchParams);
	const view = await loadStatementPaper(locals.database.orm, locals.now, question);
	return xlsxResponse(await xlsxBytes(statementSheets(view)), `${fileStem(view.statement)}.xlsx`);
};

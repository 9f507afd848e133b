import { pdfBytes, pdfResponse } from '#lib/server/documents/pdf.ts';
import { statementPaper } from '#lib/server/documents/statement.ts';
import { costQuestion, loadStatementPaper } from '#lib/server/views/cost.ts';
import { fileStem } from '#lib/server/views/costWords.ts';
import type { RequestHandler } from './$types';

/** The statement that the same query shows on /cost. */
export const GET: RequestHandler = async ({ locals, url }) => {
	const question = costQuestion(url.searchParams);
	const view = await loadStatementPaper(locals.database.orm, locals.now, question);
	return pdfResponse(await pdfBytes(statementPaper(view)), `${fileStem(view.statement)}.pdf`);
};

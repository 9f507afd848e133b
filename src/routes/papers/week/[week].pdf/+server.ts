import { error } from '@sveltejs/kit';
import { isWeek } from '#lib/domain/quantity/week.ts';
import { pdfBytes, pdfResponse } from '#lib/server/documents/pdf.ts';
import { weekSheet } from '#lib/server/documents/weekSheet.ts';
import { loadWeekView } from '#lib/server/views/week.ts';
import type { RequestHandler } from './$types';

export const GET: RequestHandler = async ({ locals, params: { week } }) => {
	if (!isWeek(week)) error(404, `There is no week ${week}; weeks are such as 2026-W48.`);
	const view = await loadWeekView(locals.database.orm, locals.now, week);
	return pdfResponse(await pdfBytes(weekSheet(view)), `week-${week}.pdf`);
};

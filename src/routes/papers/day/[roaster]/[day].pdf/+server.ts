import { error } from '@sveltejs/kit';
import { isDay } from '#lib/domain/quantity/week.ts';
import { daySheet } from '#lib/server/documents/daySheet.ts';
import { pdfBytes, pdfResponse } from '#lib/server/documents/pdf.ts';
import { loadFloorSheet } from '#lib/server/views/floor.ts';
import type { RequestHandler } from './$types';

export const GET: RequestHandler = async ({ locals, params: { roaster, day } }) => {
	if (!isDay(day)) error(404, `There is no day ${day}; days are such as 2026-11-25.`);
	const sheet = await loadFloorSheet(locals.database.orm, locals.now, roaster, day);
	if (!sheet) error(404, `There is no roaster ${roaster}.`);
	return pdfResponse(await pdfBytes(daySheet(sheet)), `day-${roaster}-${day}.pdf`);
};

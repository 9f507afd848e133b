import { error } from '@sveltejs/kit';
import { lotDossier } from '#lib/server/documents/lotDossier.ts';
import { pdfBytes, pdfResponse } from '#lib/server/documents/pdf.ts';
import { loadDossier } from '#lib/server/views/dossier.ts';
import type { RequestHandler } from './$types';

export const GET: RequestHandler = async ({ locals, params }) => {
	const dossier = await loadDossier(locals.database.orm, locals.now, params.code);
	if (!dossier) error(404, `There is no lot ${params.code}.`);
	return pdfResponse(await pdfBytes(lotDossier(dossier)), `lot-${params.code}.pdf`);
};

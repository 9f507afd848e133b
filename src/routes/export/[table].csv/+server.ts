import { error } from '@sveltejs/kit';
import { csvResponse } from '#lib/server/documents/csv.ts';
import { loadExport } from '#lib/server/views/export/all.ts';
import type { RequestHandler } from './$types';

export const GET: RequestHandler = async ({ locals, params }) => {
	const file = `${params.table}.csv`;
	const table = await loadExport(locals.database.orm, locals.now, file);
	if (!table) error(404, `There is no table ${file}; the list is at /export.`);
	return csvResponse(table, file);
};

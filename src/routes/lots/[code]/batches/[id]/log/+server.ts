import { error } from '@sveltejs/kit';
import { findBatch } from '#lib/server/store/batches.ts';
import { loadLogBytes } from '#lib/server/store/logs.ts';
import { numberIn } from '../../../../../numberIn.ts';
import type { RequestHandler } from './$types';

/** The drum log's file as it came, byte for byte. */
export const GET: RequestHandler = async ({ locals, params }) => {
	const db = locals.database.orm;
	const found = await findBatch(db, numberIn(params.id));
	const logId = found?.lotCode === params.code ? found.batch.logId : null;
	const file = logId === null ? null : await loadLogBytes(db, logId);
	if (!file) error(404, `Production batch ${params.id} of ${params.code} has no drum log.`);
	const name = file.fileName.replace(/^.*[\\/]/, '');
	return new Response(new Uint8Array(file.bytes), {
		headers: {
			'content-type': 'application/octet-stream',
			'content-disposition': `attachment; filename*=UTF-8''${encodeURIComponent(name)}`
		}
	});
};

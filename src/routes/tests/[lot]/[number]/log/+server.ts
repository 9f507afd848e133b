import { error } from '@sveltejs/kit';
import { loadLogBytes } from '#lib/server/store/logs.ts';
import { findTest } from '#lib/server/store/tests.ts';
import { numberIn } from '../../../../numberIn.ts';
import type { RequestHandler } from './$types';

/** The drum log's file as it came, byte for byte. */
export const GET: RequestHandler = async ({ locals, params }) => {
	const db = locals.database.orm;
	const test = await findTest(db, params.lot, numberIn(params.number));
	const logId = test?.roast?.logId ?? null;
	const file = logId === null ? null : await loadLogBytes(db, logId);
	if (!file) error(404, `Test ${params.number} of ${params.lot} has no drum log.`);
	const name = file.fileName.replace(/^.*[\\/]/, '');
	return new Response(new Uint8Array(file.bytes), {
		headers: {
			'content-type': 'application/octet-stream',
			'content-disposition': `attachment; filename*=UTF-8''${encodeURIComponent(name)}`
		}
	});
};

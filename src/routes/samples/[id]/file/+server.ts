import { error } from '@sveltejs/kit';
import { loadLogBytes, loadSamples } from '#lib/server/store/logs.ts';
import { numberIn } from '../../../numberIn.ts';
import type { RequestHandler } from './$types';

/** The log's file as it came, byte for byte. */
export const GET: RequestHandler = async ({ locals, params }) => {
	const db = locals.database.orm;
	const [record] = await loadSamples(db, { sampleId: numberIn(params.id) });
	const file = record ? await loadLogBytes(db, record.sample.logId) : null;
	if (!file) error(404, `There is no sample ${params.id}.`);
	const name = file.fileName.replace(/^.*[\\/]/, '');
	return new Response(new Uint8Array(file.bytes), {
		headers: {
			'content-type': 'application/octet-stream',
			'content-disposition': `attachment; filename*=UTF-8''${encodeURIComponent(name)}`
		}
	});
};

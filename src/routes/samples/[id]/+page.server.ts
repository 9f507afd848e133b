import { error } from '@sveltejs/kit';
import { humidityText, loadSamplePage } from '#lib/server/views/sample.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, params }) => {
	const page = await loadSamplePage(locals.database.orm, Number(params.id));
	if (!page) error(404, `There is no sample ${params.id}.`);
	return { ...page, humidity: page.reading ? humidityText(page.reading.inputs) : null };
};

import { error } from '@sveltejs/kit';
import { humidityText, loadSamplePage } from '#lib/server/views/sample.ts';
import { AGES, loadSimilar } from '#lib/server/views/similar.ts';
import { numberIn } from '../../numberIn.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, params, url }) => {
	const page = await loadSamplePage(locals.database.orm, numberIn(params.id));
	if (!page) error(404, `There is no sample ${params.id}.`);
	const asked = (name: string) => url.searchParams.get(name)?.trim() ?? '';
	const similar = await loadSimilar(locals.database.orm, locals.now, page.id, {
		kind: asked('kind'),
		roaster: asked('roaster'),
		months: AGES.find((months) => String(months) === asked('months')) ?? null
	});
	return { ...page, similar, humidity: page.reading ? humidityText(page.reading.inputs) : null };
};

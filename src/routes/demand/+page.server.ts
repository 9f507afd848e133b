import { AGAINST_FORECAST, loadDemandPage } from '#lib/server/views/forecast.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, url }) => {
	const asked = (name: string) => url.searchParams.get(name)?.trim() ?? '';
	const against = AGAINST_FORECAST.find((each) => each === asked('orders')) ?? '';
	return {
		demand: await loadDemandPage(locals.database.orm, locals.now, { q: asked('q'), against })
	};
};

import { error } from '@sveltejs/kit';
import { loadProductDemand } from '#lib/server/views/forecast.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, params }) => {
	const product = await loadProductDemand(locals.database.orm, locals.now, params.code);
	if (!product) error(404, `There is no product ${params.code}.`);
	return { product };
};

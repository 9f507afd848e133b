import { error } from '@sveltejs/kit';
import { loadComparison } from '#lib/server/views/comparison.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, params, url }) => {
	const asked = (name: string) => Number(url.searchParams.get(name)) || null;
	const comparison = await loadComparison(locals.database.orm, params.code, {
		earlier: asked('earlier'),
		later: asked('later')
	});
	if (!comparison) error(404, `There is no lot ${params.code}.`);
	return comparison;
};

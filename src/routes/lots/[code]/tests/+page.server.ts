import { error } from '@sveltejs/kit';
import { loadLotTests } from '#lib/server/views/lotTests.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, params, url }) => {
	const align = url.searchParams.get('at') === 'crack' ? 'crack' : 'charge';
	const page = await loadLotTests(locals.database.orm, params.code, align);
	if (!page) error(404, `There is no lot ${params.code}.`);
	return page;
};

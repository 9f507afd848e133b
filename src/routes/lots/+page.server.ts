import { loadLotsPage, LOT_SORTS } from '#lib/server/views/lots.ts';
import { pageOf, sortOf } from '#lib/ui/format/address.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = ({ locals, url }) => {
	const asked = (name: string) => url.searchParams.get(name)?.trim() ?? '';
	return loadLotsPage(locals.database.orm, locals.now, {
		q: asked('q'),
		stage: asked('stage'),
		kind: asked('kind'),
		releasedFrom: asked('released_from'),
		sort: sortOf(url, LOT_SORTS),
		page: pageOf(url, Number.MAX_SAFE_INTEGER)
	});
};

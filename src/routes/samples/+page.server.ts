import { loadSamplesPage, SAMPLE_SORTS } from '#lib/server/views/sample.ts';
import { pageOf, sortOf } from '#lib/ui/format/address.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = ({ locals, url }) => {
	const asked = (name: string) => url.searchParams.get(name)?.trim() ?? '';
	return loadSamplesPage(locals.database.orm, {
		q: asked('q'),
		lot: asked('lot'),
		stage: asked('stage'),
		verdict: asked('verdict'),
		kind: asked('kind'),
		sort: sortOf(url, SAMPLE_SORTS),
		page: pageOf(url, Number.MAX_SAFE_INTEGER)
	});
};

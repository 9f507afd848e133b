import { COVER_SORTS, loadCoverPage } from '#lib/server/views/coverPage.ts';
import { sortOf } from '#lib/ui/format/address.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, url }) => ({
	cover: await loadCoverPage(locals.database.orm, locals.now, {
		q: url.searchParams.get('q')?.trim() ?? '',
		next: url.searchParams.get('next') ?? '',
		sort: sortOf(url, COVER_SORTS)
	})
});

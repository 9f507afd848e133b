import { ACTS_ON_A_PAGE, loadAuditView } from '#lib/server/views/audit.ts';
import { pageOf } from '#lib/ui/format/address.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, url }) => {
	const asked = (name: string) => url.searchParams.get(name)?.trim().slice(0, 200) ?? '';
	const view = await loadAuditView(locals.database.orm, {
		q: asked('q'),
		who: asked('who'),
		act: asked('act'),
		lot: asked('lot'),
		test: asked('test'),
		from: asked('from'),
		to: asked('to'),
		page: pageOf(url, 1_000_000)
	});
	return { ...view, pageSize: ACTS_ON_A_PAGE };
};

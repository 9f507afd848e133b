import { loadTestsPage, TESTS_ON_A_PAGE, TEST_STATES } from '#lib/server/views/tests.ts';
import { VERDICTS } from '#lib/domain/lot/lot.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, url }) => {
	const asked = (name: string) => url.searchParams.get(name)?.trim() ?? '';
	const page = await loadTestsPage(locals.database.orm, locals.now, {
		q: asked('q'),
		state: asked('state'),
		verdict: asked('verdict'),
		roaster: asked('roaster'),
		month: asked('month'),
		sort: asked('sort'),
		page: Number(asked('page') || '1')
	});
	return { ...page, states: TEST_STATES, verdicts: VERDICTS, pageSize: TESTS_ON_A_PAGE };
};

import { loadTrend, TREND_CUTS, trendPage } from '#lib/server/views/trend.ts';
import type { PageServerLoad } from './$types';

/** `by` parts the released lots by humidity, kind or roaster; without it `on` parts them by a day. */
export const load: PageServerLoad = async ({ locals, url }) => {
	const by = url.searchParams.get('by');
	const trend = await loadTrend(locals.database.orm, locals.now, {
		cut: TREND_CUTS.find((cut) => cut === by) ?? 'date',
		on: url.searchParams.get('on')?.trim() ?? ''
	});
	return trendPage(trend);
};

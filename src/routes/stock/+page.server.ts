import { loadStock, STOCK_SORTS } from '#lib/server/views/stock.ts';
import { pageOf, sortOf } from '#lib/ui/format/address.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, url }) => ({
	stock: await loadStock(locals.database.orm, {
		q: url.searchParams.get('q')?.trim() ?? '',
		show: url.searchParams.get('show') ?? 'held',
		sort: sortOf(url, STOCK_SORTS),
		page: pageOf(url, Number.MAX_SAFE_INTEGER)
	})
});

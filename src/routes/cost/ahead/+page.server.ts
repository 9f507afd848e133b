import { loadAhead } from '#lib/server/views/ahead.ts';
import { loadPrice } from '#lib/server/views/priceBasis.ts';
import type { PageServerLoad } from './$types';

/** `budget` is money in major units; `view=price` shows what a roasted kilogram costs. */
export const load: PageServerLoad = async ({ locals, url }) => {
	const db = locals.database.orm;
	if (url.searchParams.get('view') === 'price')
		return { shown: 'price' as const, price: await loadPrice(db, locals.now) };
	const budget = url.searchParams.get('budget')?.trim() ?? '';
	return { shown: 'ahead' as const, ahead: await loadAhead(db, locals.now, budget) };
};

import { loadProductionCosts } from '#lib/server/views/production.ts';
import type { PageServerLoad } from './$types';

/** `month` is such as 2026-10, `lot` a code, `page` from 1. */
export const load: PageServerLoad = ({ locals, url }) =>
	loadProductionCosts(locals.database.orm, locals.now, {
		month: url.searchParams.get('month') || null,
		lot: url.searchParams.get('lot')?.trim() || null,
		page: Number(url.searchParams.get('page')) || 1
	});

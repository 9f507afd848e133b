import { loadMadeOf } from '#lib/server/views/madeOf.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, url }) => ({
	made: await loadMadeOf(locals.database.orm, locals.now, {
		q: url.searchParams.get('q')?.trim() ?? '',
		short: url.searchParams.get('short') ?? ''
	})
});

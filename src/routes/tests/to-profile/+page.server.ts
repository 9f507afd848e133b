import { loadToProfile } from '#lib/server/views/toProfile.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, url }) =>
	loadToProfile(locals.database.orm, locals.now, {
		q: url.searchParams.get('q')?.trim() ?? ''
	});

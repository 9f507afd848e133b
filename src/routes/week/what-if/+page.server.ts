import { redirect } from '@sveltejs/kit';
import { loadWeekToOpen } from '#lib/server/views/week.ts';
import type { PageServerLoad } from './$types';

/** A what-if of the week that is open, whichever that is: an address to keep. */
export const load: PageServerLoad = async ({ locals, url }) => {
	const week = await loadWeekToOpen(locals.database.orm, locals.now);
	redirect(303, `/week/${week}/what-if${url.search}`);
};

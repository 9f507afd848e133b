import { redirect } from '@sveltejs/kit';
import { loadWeekToOpen } from '#lib/server/views/week.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals }) =>
	redirect(303, `/week/${await loadWeekToOpen(locals.database.orm, locals.now)}`);

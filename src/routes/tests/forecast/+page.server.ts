import { loadTestsForecast } from '#lib/server/views/toProfile.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals }) => loadTestsForecast(locals.database.orm);

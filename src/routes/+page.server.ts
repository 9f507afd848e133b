import { loadOverview } from '#lib/server/views/overview.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = ({ locals }) => loadOverview(locals.database.orm, locals.now);

import { loadSetupSteps } from '#lib/server/views/setup.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals }) => ({
	steps: await loadSetupSteps(locals.database.orm, locals.now)
});

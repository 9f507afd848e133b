import { loadSite } from '#lib/server/store/site.ts';
import type { LayoutServerLoad } from './$types';

export const load: LayoutServerLoad = async ({ locals, url }) => {
	const site = await loadSite(locals.database.orm);
	return { siteName: site?.name ?? null, recordedBy: locals.actor.name, path: url.pathname };
};

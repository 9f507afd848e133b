import { loadSite } from '#lib/server/store/site.ts';
import type { LayoutServerLoad } from './$types';

export const load: LayoutServerLoad = async ({ locals, url }) => {
	const { actor, database, isOpenDemo, newestAct } = locals;
	const site = await loadSite(database.orm);
	return {
		siteName: site?.name ?? null,
		person: actor.userId === null ? null : { name: actor.name, role: actor.role },
		isOpenDemo,
		newestAct: newestAct ?? null,
		path: url.pathname
	};
};

import { loadPanelPage } from '#lib/server/views/cupping/panel.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = ({ locals, url }) => {
	const asked = url.searchParams.get('form');
	return loadPanelPage(locals.database.orm, asked === '2004' || asked === '2024' ? asked : null);
};

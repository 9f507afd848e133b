import { error, redirect } from '@sveltejs/kit';
import { loadFloorToOpen } from '#lib/server/views/floor.ts';
import type { PageServerLoad } from './$types';

/** A roaster's today: the address to keep on its tablet. */
export const load: PageServerLoad = async ({ locals, params }) => {
	const open = await loadFloorToOpen(locals.database.orm, locals.now);
	if (!open) error(404, 'There is no roaster yet; add one in Setup.');
	redirect(303, `/floor/${encodeURIComponent(params.roaster)}/${open.day}`);
};

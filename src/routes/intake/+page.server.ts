import { fail, redirect } from '@sveltejs/kit';
import { loadIntakeIndex } from '#lib/server/views/intake.ts';
import type { Actions, PageServerLoad } from './$types';
import { chosenLot, takeUploads } from './uploads.server.ts';

export const load: PageServerLoad = async ({ locals, url }) => ({
	...(await loadIntakeIndex(locals.database.orm)),
	lot: url.searchParams.get('lot') ?? ''
});

export const actions: Actions = {
	default: async ({ locals, request }) => {
		const form = await request.formData();
		const taken = await takeUploads(locals, form);
		if (!taken.ok) return fail(400, { problems: [...taken.problems], lot: chosenLot(form) ?? '' });
		redirect(303, `/intake/${taken.value}`);
	}
};

import { fail, redirect } from '@sveltejs/kit';
import { perform } from '#lib/server/commands/act.ts';
import { closePeriod } from '#lib/server/commands/closePeriod.ts';
import { typedFields } from '#lib/server/imports/fields.ts';
import { loadPeriodsView } from '#lib/server/views/stock.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals }) => ({
	periods: await loadPeriodsView(locals.database.orm, locals.now)
});

export const actions: Actions = {
	default: async ({ locals, request }) => {
		const fields = typedFields(await request.formData());
		const month = fields['month'] ?? '';
		if (fields['sure'] !== 'yes')
			return fail(400, {
				problems: [
					{ path: 'sure', message: 'expected a tick: a closed month is not opened again' }
				],
				fields
			});
		const closed = await perform(locals, (deed) =>
			closePeriod(deed, { month, note: fields['note']?.trim() ?? '' })
		);
		if (!closed.ok) return fail(400, { problems: [...closed.problems], fields });
		redirect(303, '/stock/close');
	}
};

import { fail, redirect } from '@sveltejs/kit';
import { perform } from '#lib/server/commands/act.ts';
import { saveExchangeRate } from '#lib/server/commands/saveExchangeRate.ts';
import { readFields, typedFields } from '#lib/server/imports/fields.ts';
import { ratesTable } from '#lib/server/imports/tables.ts';
import { loadRatesView } from '#lib/server/views/rates.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, url }) => ({
	rates: await loadRatesView(
		locals.database.orm,
		locals.now,
		url.searchParams.get('q')?.trim() ?? ''
	)
});

export const actions: Actions = {
	default: async ({ locals, request }) => {
		const fields = typedFields(await request.formData());
		const read = readFields(fields, ratesTable, null);
		if (!read.ok) return fail(400, { problems: [...read.problems], fields });
		const saved = await perform(locals, (deed) => saveExchangeRate(deed, read.value));
		if (!saved.ok) return fail(400, { problems: [...saved.problems], fields });
		redirect(303, '/setup/rates');
	}
};

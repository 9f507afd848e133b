import { fail, redirect } from '@sveltejs/kit';
import { perform } from '#lib/server/commands/act.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { readFields, typedFields } from '#lib/server/imports/fields.ts';
import { lotsTable } from '#lib/server/imports/tables.ts';
import { requireSite } from '#lib/server/store/site.ts';
import { loadNewLotPage } from '#lib/server/views/lots.ts';
import { lotHref } from '#lib/server/views/places.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = ({ locals }) => loadNewLotPage(locals.database.orm);

export const actions: Actions = {
	default: async ({ request, locals }) => {
		const { database } = locals;
		const form = await request.formData();
		const fields = typedFields(form);
		const { currency } = await requireSite(database.orm);
		const read = readFields(fields, lotsTable, currency);
		if (!read.ok) return fail(400, { problems: read.problems, fields });
		const made = await perform(locals, (deed) =>
			createLot(deed, { ...read.value, createdAt: null })
		);
		if (!made.ok) return fail(400, { problems: made.problems, fields });
		redirect(303, lotHref(read.value.code));
	}
};

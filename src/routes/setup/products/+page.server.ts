import { fail, redirect } from '@sveltejs/kit';
import { perform } from '#lib/server/commands/act.ts';
import { saveProduct } from '#lib/server/commands/saveProduct.ts';
import { readFields, typedFields } from '#lib/server/imports/fields.ts';
import { productsTable } from '#lib/server/imports/tables.ts';
import { requireSite } from '#lib/server/store/site.ts';
import { loadProductLines } from '#lib/server/views/setup.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals }) => ({
	products: await loadProductLines(locals.database.orm, locals.now),
	currency: (await requireSite(locals.database.orm)).currency
});

export const actions: Actions = {
	default: async ({ locals, request }) => {
		const fields = typedFields(await request.formData());
		const { currency } = await requireSite(locals.database.orm);
		const read = readFields(fields, productsTable, currency);
		if (!read.ok) return fail(400, { problems: read.problems, fields });
		const saved = await perform(locals, (deed) => saveProduct(deed, read.value, 0));
		if (!saved.ok) return fail(400, { problems: saved.problems, fields });
		redirect(303, `/setup/products/${encodeURIComponent(read.value.code)}`);
	}
};

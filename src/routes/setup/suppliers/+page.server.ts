import { error, fail, redirect } from '@sveltejs/kit';
import { perform } from '#lib/server/commands/act.ts';
import { saveSupplierLead } from '#lib/server/commands/saveSupplierLead.ts';
import { readFields, typedFields } from '#lib/server/imports/fields.ts';
import { suppliersTable } from '#lib/server/imports/tables.ts';
import { loadSuppliersPage } from '#lib/server/views/suppliers.ts';
import { numberTyped } from '../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, url }) => {
	const chosen = url.searchParams.get('supplier');
	const page = await loadSuppliersPage(locals.database.orm, chosen);
	if (chosen !== null && page.open === null) error(404, `No lot is from a supplier ${chosen}.`);
	return { page };
};

export const actions: Actions = {
	default: async ({ locals, request, url }) => {
		const supplier = url.searchParams.get('supplier') ?? '';
		const fields: Record<string, string> = {
			...typedFields(await request.formData()),
			supplier
		};
		const { open } = await loadSuppliersPage(locals.database.orm, supplier);
		if (open === null) error(404, `No lot is from a supplier ${supplier}.`);
		const read = readFields(fields, suppliersTable, null);
		if (!read.ok) return fail(400, { problems: read.problems, fields });
		const seen = numberTyped(fields['version']);
		const saved = await perform(locals, (deed) => saveSupplierLead(deed, read.value, seen));
		if (!saved.ok) return fail(400, { problems: saved.problems, fields });
		redirect(303, '/setup/suppliers');
	}
};

import { error, fail, redirect, type RequestEvent } from '@sveltejs/kit';
import type { Outcome } from '#lib/domain/quantity/problem.ts';
import { perform } from '#lib/server/commands/act.ts';
import { addProductionLog } from '#lib/server/commands/addLog.ts';
import { recordColour } from '#lib/server/commands/recordColour.ts';
import { instantOf } from '#lib/server/imports/cells.ts';
import { findBatch } from '#lib/server/store/batches.ts';
import { requireSite } from '#lib/server/store/site.ts';
import { loadBatchPage } from '#lib/server/views/batch.ts';
import { batchHref } from '#lib/server/views/places.ts';
import { readColour, sentLog } from '../../../../drum/forms.server.ts';
import { fieldsOf, refused } from '../../../../tests/forms.server.ts';
import { numberIn } from '../../../../numberIn.ts';
import type { Actions, PageServerLoad, RouteParams } from './$types';

export const load: PageServerLoad = async ({ locals, params }) => {
	const page = await loadBatchPage(
		locals.database.orm,
		locals.now,
		params.code,
		numberIn(params.id)
	);
	if (!page) error(404, `There is no production batch ${params.id} of a lot ${params.code}.`);
	return page;
};

/** An act on this batch: reads the form, does the deed, comes back or gives the form back. */
function acting(
	act: string,
	run: (productionId: number, form: FormData, locals: App.Locals) => Promise<Outcome<unknown>>
) {
	return async ({ request, locals, params }: RequestEvent<RouteParams>) => {
		const [form, found] = await Promise.all([
			request.formData(),
			findBatch(locals.database.orm, numberIn(params.id))
		]);
		if (found?.lotCode !== params.code) error(404, `There is no production batch ${params.id}.`);
		const done = await run(found.batch.id, form, locals);
		if (!done.ok) return fail(400, refused(act, fieldsOf(form), done.problems));
		redirect(303, batchHref(params.code, found.batch.id));
	};
}

export const actions: Actions = {
	log: acting('log', async (productionId, form, locals) => {
		const file = await sentLog(form.get('log_file'), locals);
		if (!file.ok) return file;
		return perform(locals, (deed) => addProductionLog(deed, { productionId, file: file.value }));
	}),
	colour: acting('colour', async (productionId, form, locals) => {
		const read = readColour(fieldsOf(form));
		if (!read.ok) return read;
		const { timeZone } = await requireSite(locals.database.orm);
		return perform(locals, (deed) =>
			recordColour(deed, {
				...read.value,
				at: instantOf(read.value.at, timeZone),
				of: { productionId }
			})
		);
	})
};

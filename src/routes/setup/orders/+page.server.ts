import { fail, redirect } from '@sveltejs/kit';
import { good, type Problem } from '#lib/domain/quantity/problem.ts';
import { perform } from '#lib/server/commands/act.ts';
import { saveWeekOrders, type OrderInput } from '#lib/server/commands/saveWeekOrders.ts';
import { readFields, typedFields } from '#lib/server/imports/fields.ts';
import { demandTable } from '#lib/server/imports/tables.ts';
import { loadOrdersGrid } from '#lib/server/views/setup.ts';
import { numberTyped } from '../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, url }) => ({
	orders: await loadOrdersGrid(locals.database.orm, locals.now, url.searchParams.get('from'))
});

export const actions: Actions = {
	default: async ({ locals, request, url }) => {
		const fields = typedFields(await request.formData());
		const { weeks, changed, problems } = readOrders(fields);
		if (problems.length > 0) return fail(400, { problems, fields: changed });
		const saved = await perform(locals, async (deed) => {
			for (const [week, orders] of weeks) {
				const outcome = await saveWeekOrders(deed, week, orders);
				if (!outcome.ok)
					return {
						...outcome,
						problems: outcome.problems.map((p) => ({ ...p, path: `${p.path}, ${week}` }))
					};
			}
			return good(null);
		});
		if (!saved.ok) return fail(400, { problems: saved.problems, fields: changed });
		redirect(303, `${url.pathname}${url.search}`);
	}
};

/**
 * Fields `kg|WEEK|CODE` as typed, `seen|WEEK|CODE` in grams as they stood on the page. Only what was changed
 * is kept for a page that refuses: the rest shows what is stored by then.
 */
function readOrders(fields: Readonly<Record<string, string>>) {
	const weeks = new Map<string, OrderInput[]>();
	const changed: Record<string, string> = {};
	const problems: Problem[] = [];
	for (const [name, typed] of Object.entries(fields)) {
		const [, week = '', product = ''] = /^kg\|(\d{4}-W\d{2})\|(.+)$/.exec(name) ?? [];
		if (product === '') continue;
		const read = readFields({ product, week, roasted_kg: typed.trim() || '0' }, demandTable, null);
		if (!read.ok) {
			changed[name] = typed;
			for (const { message } of read.problems)
				problems.push({ path: `${product}, ${week}`, message });
			continue;
		}
		const seenG = numberTyped(fields[`seen|${week}|${product}`]);
		if (read.value.roastedG !== seenG) changed[name] = typed;
		const order = { product, roastedG: read.value.roastedG, seenG };
		weeks.set(week, [...(weeks.get(week) ?? []), order]);
	}
	return { weeks, changed, problems };
}

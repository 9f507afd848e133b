import { fail, redirect } from '@sveltejs/kit';
import { parseMoney } from '#lib/domain/quantity/money.ts';
import { perform } from '#lib/server/commands/act.ts';
import { saveTestBudget } from '#lib/server/commands/saveTestBudget.ts';
import { typedFields } from '#lib/server/imports/fields.ts';
import { requireSite } from '#lib/server/store/site.ts';
import { loadAhead } from '#lib/server/views/ahead.ts';
import { loadPrice } from '#lib/server/views/priceBasis.ts';
import { numberTyped } from '../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

/**
 * `budget` asks about an amount in major units, `period` changes the budget kept for it; `view=price` shows
 * what a roasted kilogram costs.
 */
export const load: PageServerLoad = async ({ locals, url }) => {
	const db = locals.database.orm;
	if (url.searchParams.get('view') === 'price')
		return { shown: 'price' as const, price: await loadPrice(db, locals.now) };
	const budget = url.searchParams.get('budget')?.trim() ?? '';
	const period = url.searchParams.get('period') || null;
	return { shown: 'ahead' as const, ahead: await loadAhead(db, locals.now, budget, period) };
};

export const actions: Actions = {
	budget: async ({ locals, request, url }) => {
		const fields = typedFields(await request.formData());
		const period = fields['period']?.trim() ?? '';
		const { currency } = await requireSite(locals.database.orm);
		const amount = parseMoney(fields['amount'] ?? '', currency, 'amount');
		if (!amount.ok) return fail(400, { problems: [...amount.problems], fields });
		// The version is of the period that the form was made for; for another a new budget is meant.
		const seen = period === url.searchParams.get('period') ? numberTyped(fields['version']) : 0;
		const saved = await perform(locals, (deed) =>
			saveTestBudget(deed, { period, amountMinor: amount.value.minor }, seen)
		);
		if (!saved.ok) return fail(400, { problems: [...saved.problems], fields });
		redirect(303, '/cost/ahead#budgets');
	}
};

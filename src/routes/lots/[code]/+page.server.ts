import { error, fail, redirect, type RequestEvent } from '@sveltejs/kit';
import { perform } from '#lib/server/commands/act.ts';
import { typedFields } from '#lib/server/imports/fields.ts';
import { findLot } from '#lib/server/store/lots.ts';
import { requireSite } from '#lib/server/store/site.ts';
import { loadLotPage } from '#lib/server/views/lot.ts';
import { loadLotLedger } from '#lib/server/views/lot/ledger.ts';
import { lotHref } from '#lib/server/views/places.ts';
import { ACTS, SEEN_AT, type LotAct } from './acts.server.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, params, url }) => {
	const page = await loadLotPage(locals.database.orm, locals.now, params.code, {
		wholeLedger: url.searchParams.get('ledger') === 'all'
	});
	const lot = await findLot(locals.database.orm, params.code);
	if (!page || !lot) error(404, `There is no lot ${params.code}.`);
	const site = await requireSite(locals.database.orm);
	const ledger = await loadLotLedger(locals.database.orm, site, lot, locals.now);
	return { ...page, ledger, act: url.searchParams.get('act') };
};

/** Fields of one form stand under its act's name, `movement-mass_kg`: the page holds several forms. */
function fieldsOf(form: FormData, act: LotAct): Record<string, string> {
	const typed = Object.entries(typedFields(form));
	return Object.fromEntries(typed.map(([name, value]) => [name.slice(act.length + 1), value]));
}

function answer(act: LotAct) {
	return async ({ request, locals, params }: RequestEvent<{ code: string }>) => {
		const { database } = locals;
		const fields = fieldsOf(await request.formData(), act);
		const [lot, site] = await Promise.all([
			findLot(database.orm, params.code),
			requireSite(database.orm)
		]);
		if (!lot) error(404, `There is no lot ${params.code}.`);
		const done = await perform(locals, (deed) => ACTS[act]({ deed, lot, site, fields }));
		if (!done.ok) return fail(400, { act, problems: [...done.problems], fields });
		redirect(303, `${lotHref(lot.code)}#${SEEN_AT[act]}`);
	};
}

export const actions: Actions = {
	terms: answer('terms'),
	invoice: answer('invoice'),
	movement: answer('movement'),
	measurement: answer('measurement'),
	release: answer('release'),
	reopen: answer('reopen'),
	reject: answer('reject')
};

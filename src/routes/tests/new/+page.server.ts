import { fail, redirect } from '@sveltejs/kit';
import { bad, type Problem } from '#lib/domain/quantity/problem.ts';
import { perform } from '#lib/server/commands/act.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { readFields } from '#lib/server/imports/fields.ts';
import { testsTable } from '#lib/server/imports/tables.ts';
import { findLot } from '#lib/server/store/lots.ts';
import { loadRoasters, requireSite } from '#lib/server/store/site.ts';
import { inputTime } from '#lib/server/views/moment.ts';
import { changesAgainstLast, loadNewTest, proposalNow } from '#lib/server/views/newTest.ts';
import { testHref } from '#lib/server/views/tests.ts';
import { fieldsOf, refused, type Fields } from '../forms.server.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = ({ locals, url }) =>
	loadNewTest(locals.database.orm, locals.now, {
		lot: url.searchParams.get('lot') ?? '',
		reference: url.searchParams.get('reference') ?? '',
		use: url.searchParams.get('use') ?? ''
	});

export const actions: Actions = {
	default: async ({ request, locals }) => {
		const fields = fieldsOf(await request.formData());
		const again = (problems: readonly Problem[], changes: readonly string[] = []) =>
			fail(400, { ...refused('plan', fields, problems), changes: [...changes] });
		const read = await readPlan(fields, locals);
		if (!read.ok) return again(read.problems);
		const { lot, roaster, plan } = read.value;
		const against = await changesAgainstLast(locals.database.orm, lot.id, {
			roasterName: roaster.name,
			settings: plan.settings
		});
		const changes = against?.changes ?? [];
		if (changes.length > 1 && fields['confirm'] !== 'yes') return again([], changes);
		const proposal = await proposalNow(
			locals.database.orm,
			lot,
			fields['proposal'] ?? '',
			fields['reference'] ?? ''
		);
		const planned = await perform(locals, (deed) =>
			planTest(deed, {
				lotId: lot.id,
				plannedAt: deed.now,
				purpose: plan.purpose,
				change: plan.change || changes.join('; '),
				roasterId: roaster.id,
				settings: plan.settings,
				...(proposal && { proposal })
			})
		);
		if (!planned.ok) return again(planned.problems, changes.length > 1 ? changes : []);
		redirect(303, testHref(lot.code, planned.value.number));
	}
};

/** The form by the tests' table; what the form does not ask is known. */
async function readPlan(fields: Fields, { database, now, actor }: App.Locals) {
	const db = database.orm;
	const [site, roasters] = await Promise.all([requireSite(db), loadRoasters(db)]);
	const known = { number: '1', planned_at: inputTime(now, site.timeZone), planned_by: actor.name };
	const read = readFields({ ...fields, ...known }, testsTable, site.currency);
	if (!read.ok) return read;
	const lot = await findLot(db, read.value.lot);
	if (!lot) return bad({ path: 'lot', message: `There is no lot ${read.value.lot}.` });
	const roaster = roasters.find(({ code }) => code === read.value.roaster);
	if (!roaster)
		return bad({ path: 'roaster', message: `There is no roaster ${read.value.roaster}.` });
	return { ok: true as const, value: { lot, roaster, plan: read.value } };
}

import { error, fail, redirect } from '@sveltejs/kit';
import { isWeek } from '#lib/domain/quantity/week.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import { perform } from '#lib/server/commands/act.ts';
import { copyLastWeek } from '#lib/server/commands/copyWeek.ts';
import { moveSlotByHand } from '#lib/server/commands/moveSlot.ts';
import { lockSlot, planWeek } from '#lib/server/commands/planWeek.ts';
import {
	dropFoundPlan,
	keepFoundPlan,
	startPlanSearch,
	stopPlanSearch
} from '#lib/server/commands/searchPlan.ts';
import { undoWeekChange } from '#lib/server/commands/weekChanges.ts';
import { saveWeekOrders, type OrderInput } from '#lib/server/commands/saveWeekOrders.ts';
import { readFields } from '#lib/server/imports/fields.ts';
import { demandTable } from '#lib/server/imports/tables.ts';
import { loadWeekView } from '#lib/server/views/week.ts';
import { loadCopy } from '#lib/server/views/weekCopy.ts';
import { loadMove, type MoveFields } from '#lib/server/views/weekMove.ts';
import { numberTyped } from '../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, params, url }) => {
	const wantsFound = url.searchParams.get('show') === 'found';
	const week = await loadWeekView(
		locals.database.orm,
		locals.now,
		checkedWeek(params.week),
		wantsFound
	);
	const slotId = numberTyped(url.searchParams.get('slot'));
	const slots = week.days.flatMap((day) => day.roasters.flatMap(({ slots }) => slots));
	const slot = slots.find(({ id }) => id === slotId) ?? null;
	const failure = locals.planSearching.failure(week.week);
	const move = slot && (await moveAskedFor(locals, week.week, url));
	const copy = url.searchParams.has('copy')
		? await loadCopy(locals.database.orm, locals.now, week.week)
		: null;
	return {
		week,
		slot,
		move,
		copy,
		slotIsGone: url.searchParams.has('slot') && slot === null,
		failure
	};
};

export const actions: Actions = {
	plan: async ({ locals, params }) => {
		const week = checkedWeek(params.week);
		const outcome = await perform(locals, (deed) => planWeek(deed, week));
		if (!outcome.ok)
			return fail(400, { title: 'The week was not planned', problems: outcome.problems });
		redirect(303, `/week/${week}`);
	},
	search: async ({ locals, params }) => {
		const week = checkedWeek(params.week);
		const outcome = await perform(locals, (deed) => startPlanSearch(deed, week));
		if (!outcome.ok)
			return fail(400, { title: 'The search did not start', problems: outcome.problems });
		locals.planSearching.start(week);
		redirect(303, `/week/${week}#search`);
	},
	stop: async ({ locals, params }) => {
		const week = checkedWeek(params.week);
		const outcome = await perform(locals, (deed) => stopPlanSearch(deed, week));
		if (!outcome.ok)
			return fail(400, { title: 'The search was not stopped', problems: outcome.problems });
		redirect(303, `/week/${week}#search`);
	},
	keep: async ({ locals, params, request }) => {
		const week = checkedWeek(params.week);
		const startedAt = numberTyped((await request.formData()).get('search'));
		const outcome = await perform(locals, (deed) => keepFoundPlan(deed, week, startedAt));
		if (!outcome.ok)
			return fail(400, { title: 'The plan was not kept', problems: outcome.problems });
		redirect(303, `/week/${week}`);
	},
	drop: async ({ locals, params }) => {
		const week = checkedWeek(params.week);
		const outcome = await perform(locals, (deed) => dropFoundPlan(deed, week));
		if (!outcome.ok)
			return fail(400, { title: 'The search was not dropped', problems: outcome.problems });
		redirect(303, `/week/${week}`);
	},
	lock: async ({ locals, params, request }) => {
		const form = await request.formData();
		const slotId = numberTyped(form.get('slot'));
		const locked = form.get('locked') === 'yes';
		const outcome = await perform(locals, (deed) => lockSlot(deed, { slotId, locked }));
		if (!outcome.ok)
			return fail(400, { title: 'The slot was not changed', problems: outcome.problems });
		redirect(303, `/week/${checkedWeek(params.week)}?slot=${slotId}#slot`);
	},
	move: async ({ locals, params, request, url }) => {
		const week = checkedWeek(params.week);
		const version = numberTyped((await request.formData()).get('version'));
		const fields = moveFields(url);
		const outcome = await perform(locals, (deed) => moveSlotByHand(deed, week, fields, version));
		if (!outcome.ok)
			return fail(400, { title: 'The slot was not moved', problems: outcome.problems });
		redirect(303, `/week/${week}?slot=${fields.slotId}#slot`);
	},
	copy: async ({ locals, params, request }) => {
		const week = checkedWeek(params.week);
		const version = numberTyped((await request.formData()).get('version'));
		const outcome = await perform(locals, (deed) => copyLastWeek(deed, week, version));
		if (!outcome.ok)
			return fail(400, { title: 'The week before was not copied', problems: outcome.problems });
		redirect(303, `/week/${week}`);
	},
	undo: async ({ locals, params, request }) => {
		const week = checkedWeek(params.week);
		const version = numberTyped((await request.formData()).get('version'));
		const outcome = await perform(locals, (deed) => undoWeekChange(deed, week, version));
		if (!outcome.ok)
			return fail(400, { title: 'Nothing was taken back', problems: outcome.problems });
		redirect(303, `/week/${week}`);
	},
	orders: async ({ locals, params, request }) => {
		const week = checkedWeek(params.week);
		const fields = Object.fromEntries(
			[...(await request.formData())].map(([name, value]) => [name, String(value)])
		);
		const { orders, problems } = readOrders(fields, week);
		const title = 'The orders were not saved';
		if (problems.length > 0) return fail(400, { title, problems, fields });
		const outcome = await perform(locals, (deed) => saveWeekOrders(deed, week, orders));
		if (!outcome.ok) return fail(400, { title, problems: outcome.problems, fields });
		redirect(303, `/week/${week}#orders`);
	}
};

function moveFields({ searchParams }: URL): MoveFields {
	const text = (name: string) => searchParams.get(name) ?? '';
	return {
		slotId: numberTyped(text('slot')),
		roaster: text('to'),
		day: text('day'),
		time: text('time')
	};
}

/** What the address asks of a move, with what would follow from it; null where it asks for none. */
async function moveAskedFor({ database, now }: App.Locals, week: string, url: URL) {
	if (!url.searchParams.has('to')) return null;
	const fields = moveFields(url);
	const worked = await loadMove(database.orm, now, week, fields);
	return worked.ok
		? { fields, found: worked.value, problems: null }
		: { fields, found: null, problems: worked.problems };
}

function checkedWeek(week: string): string {
	return isWeek(week) ? week : error(404, `There is no week ${week}; weeks are such as 2026-W48.`);
}

/** Fields `kg-CODE` as typed and `seen-CODE` in grams as they were on the page. */
function readOrders(fields: Readonly<Record<string, string>>, week: string) {
	const orders: OrderInput[] = [];
	const problems: Problem[] = [];
	for (const [name, typed] of Object.entries(fields)) {
		if (!name.startsWith('kg-')) continue;
		const product = name.slice('kg-'.length);
		const read = readFields({ product, week, roasted_kg: typed || '0' }, demandTable, null);
		if (read.ok)
			orders.push({
				product,
				roastedG: read.value.roastedG,
				seenG: numberTyped(fields[`seen-${product}`])
			});
		else problems.push(...read.problems.map(({ message }) => ({ path: product, message })));
	}
	return { orders, problems };
}

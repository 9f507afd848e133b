import { randomInt } from 'node:crypto';
import { fail, redirect } from '@sveltejs/kit';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { perform } from '#lib/server/commands/act.ts';
import { openCuppingSession, type TableCoffee } from '#lib/server/commands/openCuppingSession.ts';
import { loadNewSession } from '#lib/server/views/cupping/sessions.ts';
import { sessionHref } from '#lib/server/views/cupping/coffee.ts';
import { numberTyped } from '../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = ({ locals, url }) =>
	loadNewSession(locals.database.orm, locals.now, {
		lot: url.searchParams.get('lot') ?? '',
		keys: url.searchParams.getAll('coffee')
	});

export const actions: Actions = {
	default: async ({ request, locals }) => {
		const form = await request.formData();
		const texts = (name: string) =>
			form.getAll(name).filter((value): value is string => typeof value === 'string');
		const typed = {
			name: texts('name')[0] ?? '',
			form: texts('form')[0] === '2024' ? ('2024' as const) : ('2004' as const),
			reference: texts('reference')[0]?.trim() ?? '',
			coffees: texts('coffee'),
			twice: texts('twice')
		};
		const coffees = readCoffees(typed.coffees, typed.twice, typed.reference);
		const opened = coffees.ok
			? await perform(locals, (deed) =>
					openCuppingSession(deed, {
						...{ name: typed.name, form: typed.form, coffees: coffees.value },
						...{ seed: randomInt(2 ** 31), openedAt: locals.now }
					})
				)
			: coffees;
		if (!opened.ok) return fail(400, { typed, problems: [...opened.problems] });
		redirect(303, sessionHref(opened.value.sessionId));
	}
};

/** Ticked coffees in the order of the page, those to stand twice once more, and the reference. */
function readCoffees(
	keys: readonly string[],
	twice: readonly string[],
	reference: string
): Outcome<TableCoffee[]> {
	const coffees: TableCoffee[] = [];
	for (const key of [...keys, ...keys.filter((key) => twice.includes(key))]) {
		const [, kind, id] = /^(test|sample)-(\d+)$/.exec(key) ?? [];
		if (!kind)
			return bad({ path: 'coffees', message: `Found '${key}', expected a coffee listed.` });
		coffees.push(
			kind === 'test' ? { testBatchId: numberTyped(id) } : { sampleId: numberTyped(id) }
		);
	}
	if (coffees.length > 0 && reference !== '') coffees.push({ reference });
	return good(coffees);
}

import { error, fail, redirect } from '@sveltejs/kit';
import { isWeek } from '#lib/domain/quantity/week.ts';
import { perform } from '#lib/server/commands/act.ts';
import { keepWhatIf } from '#lib/server/commands/keepWhatIf.ts';
import { typedFields } from '#lib/server/imports/fields.ts';
import {
	changeText,
	changeWords,
	loadKnown,
	readChanges,
	typedChange
} from '#lib/server/views/whatIf/ask.ts';
import { loadWhatIf } from '#lib/server/views/whatIf/page.ts';
import { workOutWhatIf } from '#lib/server/views/whatIf/work.ts';
import { numberTyped } from '../../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

const TITLE = 'The what-if was not kept';

export const load: PageServerLoad = async ({ locals, params, url }) => {
	const week = checkedWeek(params.week);
	const { database, now, actor } = locals;
	const asked = addressed(url);
	const fields = Object.fromEntries(url.searchParams);
	const known = await loadKnown(database.orm, now, week);
	const typed = typedChange(fields, known);
	if (typed?.ok) {
		const texts = [...asked.texts, changeText(typed.value, known)];
		redirect(303, addressOf(week, { ...asked, texts }));
	}
	return {
		whatIf: await loadWhatIf(database.orm, now, actor, week, asked),
		typed: typed && { fields, problems: typed.problems }
	};
};

export const actions: Actions = {
	keep: async ({ locals, params, request, url }) => {
		const week = checkedWeek(params.week);
		const { database, now } = locals;
		const fields = typedFields(await request.formData());
		const { texts, searches } = addressed(url);
		const known = await loadKnown(database.orm, now, week);
		const { changes, problems } = readChanges(texts, known);
		if (problems.length > 0) return fail(400, { title: TITLE, problems });
		const asked = { week, changes, searches, fromMs: numberTyped(fields['from']) };
		const worked = await workOutWhatIf(database.orm, now, asked);
		if (!worked.ok) return fail(400, { title: TITLE, problems: worked.problems });
		const plan = worked.value;
		if (!plan) redirect(303, `/week/${week}`);
		const words = changes.map((change) => changeWords(change, known));
		const seen = { version: numberTyped(fields['version']), digest: fields['digest'] ?? '' };
		const kept = await perform(locals, (deed) => keepWhatIf(deed, plan, words, seen));
		if (!kept.ok) return fail(400, { title: TITLE, problems: kept.problems });
		redirect(303, `/week/${week}`);
	}
};

/** `?change=…&change=…&plan=search`. */
function addressed({ searchParams }: URL) {
	return {
		texts: searchParams.getAll('change'),
		searches: searchParams.get('plan') === 'search'
	};
}

function addressOf(week: string, asked: ReturnType<typeof addressed>): string {
	const query = new URLSearchParams(asked.texts.map((text) => ['change', text]));
	if (asked.searches) query.set('plan', 'search');
	return `/week/${week}/what-if?${query}`;
}

function checkedWeek(week: string): string {
	return isWeek(week) ? week : error(404, `There is no week ${week}; weeks are such as 2026-W48.`);
}

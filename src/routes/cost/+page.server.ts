import {
	CUTS,
	loadCostedTests,
	loadLanded,
	loadStatement,
	type CostFilter,
	type Cut
} from '#lib/server/views/cost.ts';
import type { PageServerLoad } from './$types';

/**
 * `by` cuts the statement, `period=all` reaches back before the last 12 months, a value for month, lot,
 * kind or roaster lists the tests behind a figure, `view=landed` lists what green coffee cost.
 */
export const load: PageServerLoad = async ({ locals, url }) => {
	const db = locals.database.orm;
	const asked = (name: string) => url.searchParams.get(name) || null;
	const filter = Object.fromEntries(CUTS.map((cut) => [cut, asked(cut)])) as CostFilter;
	const all = asked('period') === 'all';
	const address = url.pathname + url.search;
	if (asked('view') === 'landed')
		return { shown: 'landed' as const, address, all, landed: await loadLanded(db) };
	if (CUTS.some((cut) => filter[cut] !== null))
		return {
			shown: 'tests' as const,
			...{ address, all, filter },
			listed: await loadCostedTests(db, locals.now, filter, all)
		};
	const cut = CUTS.find((each) => each === asked('by')) ?? ('month' satisfies Cut);
	return {
		shown: 'statement' as const,
		...{ address, all },
		statement: await loadStatement(db, locals.now, cut, all)
	};
};

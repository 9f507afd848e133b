import {
	costQuery,
	costQuestion,
	CUTS,
	loadCostedTests,
	loadLandedPage,
	loadStatement
} from '#lib/server/views/cost.ts';
import { CUT_WORDS } from '#lib/server/views/costWords.ts';
import { pageOf } from '#lib/ui/format/address.ts';
import type { PageServerLoad } from './$types';

/**
 * `by` cuts the statement; `period` is a month, a year or `all`, else the last 12 months; a value for a cut
 * (`lot=HR-141`) lists the tests behind a figure; `view=landed` lists what green coffee cost.
 */
export const load: PageServerLoad = async ({ locals, url }) => {
	const db = locals.database.orm;
	const question = costQuestion(url.searchParams);
	const shared = { period: question.period, query: costQuery(question), cutWords: CUT_WORDS };
	if (url.searchParams.get('view') === 'landed')
		return {
			shown: 'landed' as const,
			...shared,
			landed: await loadLandedPage(db, pageOf(url, Number.MAX_SAFE_INTEGER))
		};
	if (CUTS.some((cut) => question.filter[cut] !== null))
		return {
			shown: 'tests' as const,
			...{ ...shared, filter: question.filter },
			listed: await loadCostedTests(db, locals.now, question)
		};
	return {
		shown: 'statement' as const,
		...shared,
		statement: await loadStatement(db, locals.now, question)
	};
};

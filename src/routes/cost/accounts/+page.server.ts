import { fail, redirect } from '@sveltejs/kit';
import { JOURNAL_SIDES, type Account, type Accounts } from '#lib/domain/cost/accounts.ts';
import { perform } from '#lib/server/commands/act.ts';
import { saveJournalAccounts } from '#lib/server/commands/saveJournalAccounts.ts';
import { typedFields } from '#lib/server/imports/fields.ts';
import { loadAccounts } from '#lib/server/views/journal.ts';
import { numberTyped } from '../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

/** The accounts of the books that the journal of testing is posted to. */
export const load: PageServerLoad = async ({ locals }) => loadAccounts(locals.database.orm);

export const actions: Actions = {
	default: async ({ locals, request }) => {
		const fields = typedFields(await request.formData());
		const accounts = Object.fromEntries(
			JOURNAL_SIDES.map((side): [string, Account] => [
				side,
				{
					code: fields[`${side}_code`]?.trim() ?? '',
					name: fields[`${side}_name`]?.trim() ?? ''
				}
			])
		) as Record<keyof Accounts, Account>;
		const saved = await perform(locals, (deed) =>
			saveJournalAccounts(deed, accounts, numberTyped(fields['version']))
		);
		if (!saved.ok) return fail(400, { problems: [...saved.problems], fields });
		redirect(303, '/cost/accounts');
	}
};

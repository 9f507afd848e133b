import { JOURNAL_SIDES, type Accounts } from '#lib/domain/cost/accounts.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { journalAccount } from '../db/schema.ts';
import { loadJournalAccounts } from '../store/costs.ts';
import { note, type Deed } from './act.ts';
import { changes } from './changes.ts';
import { versionProblem, type SeenVersion } from './versions.ts';

/** Sets the accounts that the costs of testing are posted to, all sides together. */
export async function saveJournalAccounts(
	deed: Deed,
	accounts: Accounts,
	seen: SeenVersion = null
): Promise<Outcome<null>> {
	const problems: Problem[] = JOURNAL_SIDES.flatMap((side) =>
		(['code', 'name'] as const).flatMap((field) =>
			accounts[side][field].trim() === ''
				? [{ path: `${side}_${field}`, message: `Give the account its ${field}.` }]
				: []
		)
	);
	const rows = await loadJournalAccounts(deed.tx);
	const version = Math.max(0, ...rows.map((row) => row.version));
	const conflict = await versionProblem(deed, 'The table of accounts', seen, version, {
		acts: ['save journal accounts']
	});
	if (conflict) problems.push({ ...conflict, path: 'version' });
	if (problems.length > 0) return bad(...problems);
	for (const side of JOURNAL_SIDES) {
		const values = { side, ...accounts[side], version: version + 1 };
		await deed.tx
			.insert(journalAccount)
			.values(values)
			.onConflictDoUpdate({ target: journalAccount.side, set: values });
	}
	const before = rows.length === 0 ? null : inWords(rows.map((row) => [row.side, row]));
	const after = inWords(JOURNAL_SIDES.map((side) => [side, accounts[side]]));
	await note(deed, 'save journal accounts', null, changes(before, after));
	return good(null);
}

/** `cost` as `4100 Test roasting`. */
function inWords(
	rows: readonly (readonly [
		side: string,
		account: { readonly code: string; readonly name: string }
	])[]
): Record<string, string> {
	return Object.fromEntries(rows.map(([side, { code, name }]) => [side, `${code} ${name}`]));
}

import {
	JOURNAL_SIDES,
	USUAL_ACCOUNTS,
	type Accounts,
	type JournalSide
} from '#lib/domain/cost/accounts.ts';
import { journalLines, type JournalLine } from '#lib/domain/cost/journal.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { Reader } from '../db/client.ts';
import { loadJournalAccounts } from '../store/costs.ts';
import { loadPickedTests, type CostQuestion } from './cost.ts';

export interface AccountsView {
	readonly accounts: Accounts;
	/** 0 while they are the usual ones. */
	readonly version: number;
}

/** The accounts that costs of testing are posted to. */
export async function loadAccounts(db: Reader): Promise<AccountsView> {
	const rows = await loadJournalAccounts(db);
	const chosen = new Map(rows.map(({ side, code, name }) => [side, { code, name }]));
	const accounts = Object.fromEntries(
		JOURNAL_SIDES.map((side) => [side, chosen.get(side) ?? USUAL_ACCOUNTS[side]])
	) as Record<JournalSide, Accounts[JournalSide]>;
	return { accounts, version: Math.max(0, ...rows.map((row) => row.version)) };
}

/** The journal of the tests that a question picks. */
export async function loadJournal(
	db: Reader,
	now: InstantMs,
	question: CostQuestion
): Promise<{ currency: string; lines: readonly JournalLine[] }> {
	const [picked, { accounts }] = await Promise.all([
		loadPickedTests(db, now, question),
		loadAccounts(db)
	]);
	const { currency, tests, today } = picked;
	return { currency, lines: journalLines(tests, accounts, currency, today) };
}

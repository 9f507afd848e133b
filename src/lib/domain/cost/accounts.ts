import { BATCH_ITEMS } from './batch.ts';

/** What the journal of testing posts to: one account a side. */
export const JOURNAL_SIDES = ['testing', 'roasted', ...BATCH_ITEMS] as const;
export type JournalSide = (typeof JOURNAL_SIDES)[number];

export interface Account {
	readonly code: string;
	readonly name: string;
}
export type Accounts = { readonly [side in JournalSide]: Account };

/** Accounts to start from; codes are ours and are meant to be replaced by those of the books. */
export const USUAL_ACCOUNTS: Accounts = {
	testing: { code: '6100', name: 'Test roasting' },
	roasted: { code: '1220', name: 'Roasted coffee' },
	green: { code: '1210', name: 'Green coffee' },
	gas: { code: '6210', name: 'Gas, charged to batches' },
	power: { code: '6220', name: 'Power, charged to batches' },
	labour: { code: '6310', name: 'Roasting labour, charged to batches' },
	machine: { code: '6410', name: 'Roasters, charged to batches' },
	quality: { code: '6320', name: 'Quality time, charged to tests' }
};

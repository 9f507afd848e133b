import { type Currency, type Money, money, subtract, sum } from '../quantity/money.ts';
import type { Day } from '../quantity/time.ts';
import { monthOf } from '../quantity/week.ts';
import type { Account, Accounts, JournalSide } from './accounts.ts';
import { BATCH_ITEMS } from './batch.ts';
import { daysOfPeriod } from './budget.ts';
import { type CostedTest, statementBy } from './statement.ts';

/**
 * The costs of testing as lines of a journal, in double entry.
 *
 * 1. One entry a month of tests, dated on its last day or, in a month that isn't over, on the day given.
 * 2. The testing account is debited with what the batches cost and credited with what their coffee brought
 *    in, so that its balance is the net cost of the statement. Each item of cost is credited to the account
 *    it was used from or absorbed by; recovered coffee is debited to the stock of roasted coffee.
 * 3. Recovered coffee is entered with its test, so that the journal agrees with the statement. The entry of
 *    a closed month stays as it is; what comes late is in the entry of the first open one (posting.ts).
 * 4. Debits and credits of an entry are equal to the minor unit. Lines of nothing are left out.
 */
export interface JournalLine {
	/** The entry it belongs to, its month: `2026-10`. */
	readonly entry: string;
	readonly day: Day;
	readonly side: JournalSide;
	readonly account: Account;
	/** One of them is zero; neither is below zero. */
	readonly debit: Money;
	readonly credit: Money;
	readonly memo: string;
}

/**
 * Lines of the journal for tests, oldest month first.
 * @param today the last day that an entry may be dated on
 */
export function journalLines(
	tests: readonly CostedTest[],
	accounts: Accounts,
	currency: Currency,
	today: Day
): JournalLine[] {
	const { rows } = statementBy(tests, (test) => monthOf(test.day), currency);
	return rows.flatMap((row) => {
		const { to } = daysOfPeriod(row.key);
		const day = to < today ? to : today;
		const count = `${row.tests} test ${row.tests === 1 ? 'batch' : 'batches'} of ${row.key}`;
		const line = (side: JournalSide, amount: Money, memo: string): JournalLine[] => {
			if (amount.minor === 0) return [];
			const none = money(0, currency);
			const size = money(Math.abs(amount.minor), currency);
			const [debit, credit] = amount.minor > 0 ? [size, none] : [none, size];
			return [{ entry: row.key, day, side, account: accounts[side], debit, credit, memo }];
		};
		const credited = (amount: Money) => money(-amount.minor, currency);
		return [
			...line('testing', row.cost, `Cost of ${count}`),
			...BATCH_ITEMS.flatMap((item) => line(item, credited(row.byItem[item]), `${item}, ${count}`)),
			...line('roasted', row.recovered, `Coffee recovered from ${count}`),
			...line('testing', credited(row.recovered), `Coffee recovered from ${count}`)
		];
	});
}

/** Debits less credits of a side, or of all lines. */
export function balanceOf(
	lines: readonly JournalLine[],
	currency: Currency,
	side?: JournalSide
): Money {
	const own = side === undefined ? lines : lines.filter((line) => line.side === side);
	return sum(
		own.map(({ debit, credit }) => subtract(debit, credit)),
		currency
	);
}

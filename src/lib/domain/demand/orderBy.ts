import type { Day } from '../quantity/time.ts';
import { addDays } from '../quantity/week.ts';
import type { StockCover } from './cover.ts';

/**
 * By when the lot that follows must be ordered. The reorder point told as a day: the run-out day less all
 * that lies between an order and the first batch, which is the supplier's lead time, the tests, and the
 * lead time of the release.
 */
export interface OrderByFacts {
	readonly code: string;
	readonly cover: Pick<StockCover, 'runOutDay' | 'isBeyondKnown'>;
	/** Tests that a new lot of this kind is expected to need. */
	readonly tests: number;
	/** Working days from a test to the next, verdict included. */
	readonly cycleDays: number;
	/** Days worked in a week, 1 to 7. */
	readonly workedDays: number;
	/** Days from an order to its arrival. */
	readonly supplierLeadDays: number;
	/** Whose time that is; null for what is usual. */
	readonly supplier?: string | null;
	readonly releaseLeadDays: number;
}

export interface OrderBy {
	readonly day: Day;
	/** Days from the order to the run-out. */
	readonly leadDays: number;
	/** Of them, calendar days for tests. */
	readonly testDays: number;
	readonly because: string;
}

/**
 * Null for stock that doesn't run out.
 * @throws RangeError when no day is worked
 */
export function orderByOf(facts: OrderByFacts): OrderBy | null {
	const { code, cover, tests, cycleDays, workedDays, supplierLeadDays, releaseLeadDays } = facts;
	if (!(workedDays >= 1 && workedDays <= 7))
		throw new RangeError(`days worked must be from 1 to 7 a week, found ${workedDays}`);
	if (cover.runOutDay === null) return null;
	const whole = Math.ceil(tests);
	const testDays = Math.ceil((whole * cycleDays * 7) / workedDays);
	const leadDays = supplierLeadDays + testDays + releaseLeadDays;
	const whose = facts.supplier ? ` from ${facts.supplier}` : '';
	const basis = cover.isBeyondKnown ? ' on demand carried on beyond what is known' : '';
	return {
		...{ day: addDays(cover.runOutDay, -leadDays), leadDays, testDays },
		because:
			`${code} runs out on ${cover.runOutDay}${basis}, less ${supplierLeadDays} days from order to ` +
			`arrival${whose}, ${testDays} for ${whole} ${whole === 1 ? 'test' : 'tests'} of ${cycleDays} working ` +
			`days each and ${releaseLeadDays} of lead time.`
	};
}

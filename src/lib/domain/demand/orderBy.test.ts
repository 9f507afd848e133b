import { describe, expect, it } from 'vitest';
import { orderByOf } from './orderBy.ts';

const facts = {
	code: 'A-1',
	cover: { runOutDay: '2027-03-31', isBeyondKnown: false },
	...{ tests: 2.4, cycleDays: 5, workedDays: 5, supplierLeadDays: 60, releaseLeadDays: 5 }
};

describe('order by', () => {
	it('is the run-out less delivery, tests and release', () => {
		// Three tests of five working days are three weeks: 60 + 21 + 5 = 86 days before 31 March.
		expect(orderByOf(facts)).toEqual({
			...{ day: '2027-01-04', leadDays: 86, testDays: 21 },
			because:
				'A-1 runs out on 2027-03-31, less 60 days from order to arrival, 21 for 3 tests of 5 working days each and 5 of lead time.'
		});
	});

	it('says that it rests on demand carried on, and counts fewer worked days as longer', () => {
		const cover = { runOutDay: '2027-03-31', isBeyondKnown: true };
		const found = orderByOf({ ...facts, cover, tests: 1, workedDays: 4 })!;
		expect(found.testDays).toBe(9);
		expect(found.because).toContain('on demand carried on beyond what is known');
	});

	it('says whose time to arrive it counts', () => {
		const found = orderByOf({ ...facts, supplierLeadDays: 20, supplier: 'Quayside Green' })!;
		expect(found).toMatchObject({ day: '2027-02-13', leadDays: 46 });
		expect(found.because).toContain('20 days from order to arrival from Quayside Green, 21 for');
	});

	it('is none for stock that does not run out, and refuses a week without work', () => {
		expect(orderByOf({ ...facts, cover: { runOutDay: null, isBeyondKnown: false } })).toBeNull();
		expect(() => orderByOf({ ...facts, workedDays: 0 })).toThrow('from 1 to 7 a week');
	});
});

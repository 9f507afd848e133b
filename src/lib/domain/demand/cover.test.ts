import { describe, expect, it } from 'vitest';
import { stockCover, type StockFacts } from './cover.ts';

/** Wednesday of 2026-W48; demand known for two weeks. */
const facts: StockFacts = {
	today: '2026-11-25',
	onHandG: 100_000,
	arrivals: [],
	needs: [
		{ week: '2026-W48', greenG: 70_000 },
		{ week: '2026-W49', greenG: 140_000 }
	],
	known: { from: '2026-W48', to: '2026-W49' }
};

describe('stock cover', () => {
	it('1, 3: takes five days of this week and 20 kg a day of the next', () => {
		// 5 x 10 kg to Sunday, 2 x 20 kg, then 10 kg are left for Wednesday's 20 kg.
		expect(stockCover(facts)).toEqual({
			runOutDay: '2026-12-02',
			coverDays: 7,
			isBeyondKnown: false,
			carriedGPerWeek: 105_000,
			how: [
				'100 kg on hand 2026-11-25.',
				'210 kg needed from 2026-W48 to 2026-W49, each week spread evenly over its seven days.',
				'2026-12-02 is the first day whose need is not met in full.'
			]
		});
	});

	it('3: stock that is used up exactly covers its last day', () => {
		expect(stockCover({ ...facts, onHandG: 90_000 }).runOutDay).toBe('2026-12-02');
		expect(stockCover({ ...facts, onHandG: 89_999 }).runOutDay).toBe('2026-12-01');
	});

	it('3: stock of nothing runs out today', () => {
		expect(stockCover({ ...facts, onHandG: 0 })).toMatchObject({
			runOutDay: '2026-11-25',
			coverDays: 0
		});
	});

	it('2: counts what arrives in time, says what comes after, and leaves out what is overdue', () => {
		const arrivals = [{ day: '2026-12-02', greenG: 40_000 }];
		expect(stockCover({ ...facts, arrivals }).runOutDay).toBe('2026-12-04');
		const late = stockCover({ ...facts, arrivals: [{ day: '2026-12-03', greenG: 40_000 }] });
		expect(late.runOutDay).toBe('2026-12-02');
		expect(late.how.at(-1)).toMatch(/What is expected 2026-12-03 comes after that\.$/);
		const overdue = stockCover({ ...facts, arrivals: [{ day: '2026-11-20', greenG: 40_000 }] });
		expect(overdue.runOutDay).toBe('2026-12-02');
		expect(overdue.how[0]).toBe(
			'100 kg on hand 2026-11-25, 40 kg overdue since 2026-11-20 and not counted.'
		);
	});

	it('4: carries the mean of the last known weeks on, and says so', () => {
		// 50 + 140 kg used by Sunday 2026-12-06, then 15 kg a day: 60 kg last four days.
		const cover = stockCover({ ...facts, onHandG: 250_000 });
		expect(cover).toMatchObject({ runOutDay: '2026-12-11', isBeyondKnown: true });
		expect(cover.how[2]).toBe(
			'Demand is known up to 2026-W49; from then on 105 kg a week is carried on, the mean of its last 2 weeks.'
		);
	});

	it('4: counts known weeks without need as zero, over the last four', () => {
		const known = { from: '2026-W40', to: '2026-W51' };
		expect(stockCover({ ...facts, known }).carriedGPerWeek).toBe(210_000 / 4);
	});

	it('crosses a year with 53 weeks', () => {
		const cover = stockCover({
			today: '2026-12-28',
			onHandG: 14_000,
			arrivals: [],
			needs: [
				{ week: '2026-W53', greenG: 7000 },
				{ week: '2027-W01', greenG: 7000 }
			],
			known: { from: '2026-W53', to: '2027-W01' }
		});
		expect(cover.runOutDay).toBe('2027-01-11');
	});

	it('has no run-out day without need, without demand, or with stock for years', () => {
		const idle = stockCover({ ...facts, needs: [] });
		expect(idle).toMatchObject({ runOutDay: null, coverDays: null, isBeyondKnown: false });
		expect(idle.how).toContain('No product asks for it up to 2026-W49.');
		expect(stockCover({ ...facts, needs: [], known: null }).how).toContain('No demand is known.');
		const years = stockCover({ ...facts, onHandG: 1_000_000_000 });
		expect(years.runOutDay).toBeNull();
		expect(years.how.at(-1)).toBe('It lasts longer than 730 days.');
	});
});

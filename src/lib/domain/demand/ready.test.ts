import { describe, expect, it } from 'vitest';
import { testsOutlook } from '../trial/outlook.ts';
import { MONDAY_TO_FRIDAY, readyOutlook, type ReadyFacts } from './ready.ts';

/** From Wednesday; one more test has a chance of a half, two of .3, three of .1. */
const facts: ReadyFacts = {
	from: '2026-11-25',
	tests: {
		chances: [
			{ tests: 1, chance: 0.5 },
			{ tests: 2, chance: 0.3 },
			{ tests: 3, chance: 0.1 }
		],
		chanceBeyond: 0.1
	},
	fewestTests: 1,
	cycleDays: 3,
	workingWeekdays: MONDAY_TO_FRIDAY,
	releaseBy: { day: '2026-12-03', because: 'ET-01 runs out.' }
};

const withDate = (day: string) => readyOutlook({ ...facts, releaseBy: { day, because: '' } });

describe('when a lot will be ready', () => {
	it('1: adds a cycle of working days for each test', () => {
		expect(readyOutlook(facts)).toEqual({
			state: 'in time',
			chanceInTime: 0.8,
			earliestDay: '2026-11-30',
			middleDay: '2026-11-30',
			safeDay: '2026-12-03',
			days: [
				{ tests: 1, day: '2026-11-30', chance: 0.5, by: 0.5 },
				{ tests: 2, day: '2026-12-03', chance: 0.3, by: 0.8 },
				{ tests: 3, day: '2026-12-08', chance: 0.1, by: 0.9 }
			],
			chanceBeyond: 0.1,
			because: [
				'Earliest ready 2026-11-30: at least 1 test, 3 working days each, from 2026-11-25.',
				'Release by 2026-12-03. ET-01 runs out.',
				'80 % chance of being ready by then.'
			]
		});
	});

	it('2: is too late when the fewest tests cannot be done, to the day', () => {
		expect(withDate('2026-11-29')).toMatchObject({ state: 'too late', chanceInTime: 0 });
		expect(withDate('2026-11-30')).toMatchObject({ state: 'at risk', chanceInTime: 0.5 });
		const two = readyOutlook({
			...facts,
			fewestTests: 2,
			releaseBy: { day: '2026-12-02', because: '' }
		});
		expect(two).toMatchObject({ state: 'too late', earliestDay: '2026-12-03', chanceInTime: 0 });
		expect(two.because.at(-1)).toBe('Even the fewest tests end after that.');
	});

	it('3: is at risk below 80 %', () => {
		expect(withDate('2026-12-02').state).toBe('at risk');
		expect(withDate('2026-12-02').because.at(-1)).toBe(
			'50 % chance of being ready by then, below 80 %.'
		);
	});

	it('1: takes fewer tests than must be roasted for as many as must be', () => {
		const { days } = readyOutlook({ ...facts, fewestTests: 2 });
		expect(days.map(({ tests, chance }) => [tests, chance])).toEqual([
			[2, 0.8],
			[3, 0.1]
		]);
	});

	it('1: starts on the next working day and skips days that are not worked', () => {
		const saturday = readyOutlook({ ...facts, from: '2026-11-28', workingWeekdays: [2, 4] });
		expect(saturday.days.map(({ day }) => day)).toEqual(['2026-12-10', '2026-12-22', '2026-12-31']);
	});

	it('1: is ready at once when only the sign-off is left', () => {
		const tests = { chances: [{ tests: 0, chance: 1 }], chanceBeyond: 0 };
		expect(readyOutlook({ ...facts, tests, fewestTests: 0 })).toMatchObject({
			state: 'in time',
			chanceInTime: 1,
			earliestDay: '2026-11-25'
		});
	});

	it('has no chance to give without a date', () => {
		expect(readyOutlook({ ...facts, releaseBy: null })).toMatchObject({
			state: 'no date',
			chanceInTime: null,
			earliestDay: '2026-11-30'
		});
	});

	it('takes the tests forecast as it comes, its days telling all but what lies beyond', () => {
		const { chances, chanceBeyond } = testsOutlook([], 'washed', 1);
		const outlook = readyOutlook({ ...facts, tests: { chances, chanceBeyond } });
		expect(outlook.days.at(-1)!.by + outlook.chanceBeyond).toBeCloseTo(1, 9);
	});

	it('refuses counts that say nothing', () => {
		expect(() => readyOutlook({ ...facts, fewestTests: -1 })).toThrow('fewest tests');
		expect(() => readyOutlook({ ...facts, cycleDays: 0 })).toThrow('test cycle');
		expect(() => readyOutlook({ ...facts, workingWeekdays: [] })).toThrow('weekday');
	});
});

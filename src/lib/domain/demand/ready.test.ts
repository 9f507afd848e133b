import { describe, expect, it } from 'vitest';
import { chanceFrom } from '#demo/chance.ts';
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

describe('slots and use', () => {
	it('4: a test waits for a day with a free slot', () => {
		const found = readyOutlook({ ...facts, slotDays: ['2026-11-27', '2026-12-04'] });
		// By hand: Friday 27 plus three working days; the second test on the Friday after.
		expect(found.days.map(({ day }) => day)).toEqual(['2026-12-02', '2026-12-09', '2026-12-14']);
		expect(found.because[0]).toContain('first free slot 2026-11-27');
	});

	it('5: the chance is summed over the days on which the date may fall', () => {
		const found = readyOutlook({
			...facts,
			mayFall: [
				{ day: '2026-11-27', chance: 0.25 },
				{ day: '2026-12-03', chance: 0.5 },
				{ day: '2026-12-20', chance: 0.25 }
			]
		});
		// By hand: .25 x 0 + .5 x .8 + .25 x .9.
		expect(found.chanceInTime).toBeCloseTo(0.625, 12);
		expect(found.because[1]).toContain('2026-11-27 to 2026-12-20');
	});

	it('5: agrees with drawing at random to a point', () => {
		const mayFall = [
			{ day: '2026-11-30', chance: 0.3 },
			{ day: '2026-12-04', chance: 0.4 },
			{ day: '2026-12-09', chance: 0.3 }
		];
		const exact = readyOutlook({ ...facts, mayFall });
		const chance = chanceFrom('ready');
		const draw = <T extends { readonly chance: number }>(of: readonly T[]) => {
			let left = chance.unit();
			return of.find((one) => (left -= one.chance) < 0);
		};
		let inTime = 0;
		for (let i = 0; i < 20_000; i++) {
			const ready = draw(exact.days);
			if (ready !== undefined && ready.day <= draw(mayFall)!.day) inTime++;
		}
		expect(Math.abs(inTime / 20_000 - exact.chanceInTime!)).toBeLessThan(0.01);
	});
});

import { expect, test } from 'vitest';
import { leversOf } from './levers.ts';
import { MONDAY_TO_FRIDAY, type ReadyFacts } from './ready.ts';

/** From Wednesday; the first free slot is a week away. */
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
	slotDays: ['2026-12-02', '2026-12-09', '2026-12-16'],
	releaseBy: { day: '2026-12-08', because: '' }
};

test('each lever is the chance with one thing otherwise, the best first', () => {
	const found = leversOf(facts, {
		anyRoaster: ['2026-11-26', '2026-12-09'],
		smallest: { name: 'R15', days: ['2026-12-04'] }
	});
	// By hand: now one test by 7 December, .5. Every day free: three tests by 8 December, .9. Side by side:
	// two tests by 7 December, .8. Neither a slot on the 26th nor one on the 4th brings a second test in.
	expect(found.map(({ what, chance }) => [what, Number(chance.toFixed(9))])).toEqual([
		['a slot as soon as it can be tested', 0.9],
		['two tests side by side, each with a change of its own', 0.8]
	]);
	expect(found[0]!.gain).toBeCloseTo(0.4, 12);
});

test('a verdict a day sooner counts where it lets another test in', () => {
	const { slotDays: _, ...free } = facts;
	const found = leversOf(
		{ ...free, releaseBy: { day: '2026-12-01', because: '' } },
		{ anyRoaster: [], smallest: null }
	);
	// By hand: two tests of two working days each from Wednesday end on Tuesday 1 December.
	expect(found.find(({ what }) => what.includes('sooner'))?.chance).toBeCloseTo(0.8, 12);
});

test('without a date there is nothing to raise', () => {
	expect(leversOf({ ...facts, releaseBy: null }, { anyRoaster: [], smallest: null })).toEqual([]);
});

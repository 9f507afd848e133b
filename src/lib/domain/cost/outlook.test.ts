import { describe, expect, it } from 'vitest';
import { money } from '../quantity/money.ts';
import { testsOutlook } from '../trial/outlook.ts';
import {
	chanceWithinBudget,
	costAhead,
	costTogether,
	similarTests,
	stepFor,
	type CostChances
} from './outlook.ts';

const gbp = (minor: number) => money(minor, 'GBP');
const sure = (tests: number) => ({ chances: [{ tests, chance: 1 }], chanceBeyond: 0, mean: tests });
const COIN = {
	chances: [
		{ tests: 1, chance: 0.5 },
		{ tests: 2, chance: 0.5 }
	],
	chanceBeyond: 0,
	mean: 1.5
};

function meanOf({ stepMinor, first, chances }: CostChances): number {
	return chances.reduce((sum, chance, i) => sum + chance * (first + i) * stepMinor, 0);
}

const total = ({ chances }: CostChances) => chances.reduce((sum, chance) => sum + chance, 0);

describe('cost of what a lot still needs', () => {
	it('adds up draws by hand (rules 1 and 2)', () => {
		// One test of 100 or 300 half the time, else two: 100 .25, 200 .125, 300 .25, 400 .25, 600 .125.
		const { chances, mean } = costAhead(COIN, [100, 300], 100, 'GBP');
		const found = Object.fromEntries(
			[...chances.chances].flatMap((c, i) => (c > 0 ? [[(chances.first + i) * 100, c]] : []))
		);
		expect(found).toEqual({ 100: 0.25, 200: 0.125, 300: 0.25, 400: 0.25, 600: 0.125 });
		expect(mean).toEqual(gbp(300));
	});

	it('keeps the mean of costs between steps (rule 2)', () => {
		const { chances } = costAhead(COIN, [12_345, 9876, 15_001], 500, 'GBP');
		expect(meanOf(chances)).toBeCloseTo(1.5 * ((12_345 + 9876 + 15_001) / 3), 6);
		expect(total(chances)).toBeCloseTo(1, 12);
	});

	it('keeps the mean of an outlook with a long tail (rule 3)', () => {
		const outlook = testsOutlook([{ kind: 'washed', testsToRelease: 3 }], 'washed', 4);
		const ahead = costAhead(outlook, [10_000], 500, 'GBP');
		expect(outlook.chanceBeyond).toBeGreaterThan(0);
		expect(meanOf(ahead.chances) / 10_000).toBeCloseTo(outlook.mean, 8);
		expect(ahead.mean.minor).toBe(Math.round(outlook.mean * 10_000));
		expect(ahead.low.minor).toBe(outlook.low * 10_000);
		expect(ahead.high.minor).toBe(outlook.high * 10_000);
	});

	it('costs nothing where no test is left, and takes tests that earn more than they cost', () => {
		expect(costAhead(sure(0), [100, 300], 100, 'GBP')).toMatchObject({
			mean: gbp(0),
			low: gbp(0),
			high: gbp(0)
		});
		expect(costAhead(sure(2), [-250], 100, 'GBP').mean).toEqual(gbp(-500));
		expect(meanOf(costAhead(COIN, [-250, 50], 100, 'GBP').chances)).toBeCloseTo(-150, 9);
	});

	it('needs the cost of a test', () => {
		expect(() => costAhead(sure(1), [], 100, 'GBP')).toThrow(RangeError);
	});
});

describe('lots together', () => {
	it('are binomial where each costs one or two tests', () => {
		// Ten lots, one test each and a second at a half: 10 + Binomial(10, 1/2) tests of 1.00.
		const lots = Array.from({ length: 10 }, () => costAhead(COIN, [100], 100, 'GBP'));
		const all = costTogether(lots, 100, 'GBP');
		expect(all.mean).toEqual(gbp(1500));
		// P(X <= 5) = 638 / 1024, P(X <= 4) = 386 / 1024.
		expect(chanceWithinBudget(all, gbp(1500))).toBeCloseTo(638 / 1024, 10);
		expect(chanceWithinBudget(all, gbp(1499))).toBeCloseTo(386 / 1024, 10);
		expect(chanceWithinBudget(all, gbp(2000))).toBeCloseTo(1, 9);
		expect(chanceWithinBudget(all, gbp(999))).toBe(0);
		// P(X <= 2) = 56 / 1024 is under a tenth, P(X <= 3) = 176 / 1024 over it; so above.
		expect([all.low, all.high]).toEqual([gbp(1300), gbp(1700)]);
	});

	it('are nothing without lots, and refuse other steps', () => {
		expect(costTogether([], 100, 'GBP')).toMatchObject({ mean: gbp(0), high: gbp(0) });
		expect(() => costTogether([costAhead(COIN, [100], 50, 'GBP')], 100, 'GBP')).toThrow(RangeError);
	});
});

describe('tests like those to come (rule 5)', () => {
	const likeness = (like: ReturnType<typeof similarTests>) =>
		like && `${like.tests.length} ${like.kind ?? 'any'} on ${like.roaster ?? 'any'}`;
	const of = (kind: string, roaster: string, n: number) =>
		Array.from({ length: n }, () => ({ kind, roaster, net: gbp(100) }));
	const found = (past: ReturnType<typeof of>, roaster: string | null = 'A') =>
		likeness(similarTests(past, 'washed', roaster));

	it('are taken as near as there are enough', () => {
		const few = of('washed', 'A', 4);
		expect(found([...of('washed', 'A', 5), ...of('washed', 'B', 9)])).toBe('5 washed on A');
		expect(found([...few, ...of('washed', 'B', 1)])).toBe('5 washed on any');
		expect(found([...few, ...of('honey', 'A', 1)])).toBe('5 any on A');
		expect(found(of('honey', 'B', 9))).toBe('9 any on any');
		expect(found(of('honey', 'B', 1))).toBe('1 any on any');
		expect(found([])).toBeNull();
		expect(found(of('washed', 'B', 5), null)).toBe('5 washed on any');
	});
});

it('steps part a test in 20 to 50', () => {
	expect(stepFor([10_000])).toBe(500);
	expect(stepFor([8000, 12_500])).toBe(500);
	expect(stepFor([700])).toBe(20);
	expect(stepFor([3])).toBe(1);
	expect(stepFor([])).toBe(1);
});

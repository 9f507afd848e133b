import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { importTables } from '#lib/server/commands/importTables.ts';
import { loadAhead } from '#lib/server/views/ahead.ts';
import { loadCostedTests, NO_FILTER } from '#lib/server/views/cost.ts';
import { loadPrice } from '#lib/server/views/priceBasis.ts';
import { loadTrend, trendPage, type TrendCut } from '#lib/server/views/trend.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { fewLots } from '#support/fewLots.ts';
import { done } from '#support/smallRoastery.ts';
import { groupNames, trendSentence } from '../../src/routes/cost/trend/words.ts';

/** Tests compared, costs to come and cost of a roasted kilogram, on a few lots of the demo roastery. */

const NOW = Date.UTC(2026, 10, 25, 10, 0);
const RELEASED = ['HR-133', 'HR-137', 'HR-147', 'HR-149'];

let db: TestDatabase;

beforeAll(async () => {
	db = await newDatabase();
	const files = fewLots([...RELEASED, 'HR-151', 'HR-152', 'HR-158']);
	done(await importTables({ database: db.database, now: NOW, actor: owner('Test') }, files));
});
afterAll(() => db.remove());

/** All costed tests of a lot, as the link behind a count shows them. */
const testsOf = (lot: string) =>
	loadCostedTests(db.database.orm, NOW, {
		...{ cut: 'lot', period: 'all', filter: { ...NO_FILTER, lot } }
	});

describe('is it falling', () => {
	const trend = (cut: TrendCut, on = '') => loadTrend(db.database.orm, NOW, { cut, on });

	it('parts released lots by the day, each with the tests until its first release', async () => {
		const { comparisons, lots, open } = await trend('date', '2026-05-01');
		const [only] = comparisons;
		expect(only!.reference.lots.map(({ code }) => code)).toEqual(['HR-133']);
		expect(only!.asked.lots.map(({ code }) => code)).toEqual(['HR-137', 'HR-147', 'HR-149']);
		expect(open).toBe(3);
		for (const { code, tests, later, net } of lots) {
			const behind = await testsOf(code);
			expect(behind.tests).toHaveLength(tests + later);
			if (later === 0) expect(net).toEqual(behind.total.net);
		}
		expect(lots.find(({ code }) => code === 'HR-133')).toMatchObject({ tests: 1, later: 2 });
		const sums = lots.reduce((all, { tests }) => all + tests, 0);
		expect(only!.asked.tests + only!.reference.tests).toBe(sums);
	});

	it('counts a lot released on the day itself as since it', async () => {
		const day = (await trend('date')).lots.find(({ code }) => code === 'HR-149')!.releasedOn;
		const found = await trend('date', day);
		expect(found.comparisons[0]!.asked.lots.map(({ code }) => code)).toEqual(['HR-149']);
	});

	it('says what the data say, and that they are too few', async () => {
		const say = async (cut: TrendCut, on = '') => {
			const found = trendPage(await trend(cut, on));
			const [first] = found.comparisons;
			return trendSentence(first!, groupNames(cut, first!.key, found.on));
		};
		expect(await say('date', '2026-05-01')).toMatch(
			/^Can't tell: .* since 1 May 2026, 1\.00 before 1 May 2026, .* holds 1\.$/
		);
		expect(await say('date', '2020-01-01')).toBe(
			'Nothing to compare: no released lot is before 1 Jan 2020.'
		);
		expect(await say('humidity')).toBe(
			'Nothing to compare: no released lot is without such a reading.'
		);
	});

	it('says that a day can not be read and takes the usual one', async () => {
		const found = await trend('date', '2026-13-40');
		expect(found.problem).toContain('2026-13-40');
		expect(found.on).toBe('2026-05-01');
	});

	it('holds each kind against all others', async () => {
		const { comparisons } = await trend('kind');
		for (const { asked, reference } of comparisons)
			expect(asked.lots.length + reference.lots.length).toBe(RELEASED.length);
	});
});

describe('testing still to come', () => {
	it('adds up over months and lots, and takes its means from tests that can be listed', async () => {
		const { lots, months, total } = await loadAhead(db.database.orm, NOW, '');
		expect(lots.map(({ code }) => code).sort()).toEqual(['HR-151', 'HR-152', 'HR-158']);
		const minor = (of: readonly { ahead: { mean: { minor: number } } }[]) =>
			of.reduce((sum, { ahead }) => sum + ahead.mean.minor, 0);
		expect([minor(lots), minor(months)]).toEqual([total.mean.minor, total.mean.minor]);
		expect(total.low.minor).toBeLessThan(total.mean.minor);
		expect(total.high.minor).toBeGreaterThan(total.mean.minor);
		for (const { code, spent, spentTests } of lots) {
			const behind = await testsOf(code);
			expect([behind.tests.length, behind.total.net]).toEqual([spentTests, spent]);
		}
	});

	it('says the chance to stay within a budget, more with more', async () => {
		const chance = async (budget: string) =>
			(await loadAhead(db.database.orm, NOW, budget)).budget!.chanceWithin;
		const { total } = await loadAhead(db.database.orm, NOW, '');
		const high = (total.high.minor / 100).toFixed(2);
		expect(await chance(high)).toBeGreaterThanOrEqual(0.9);
		expect(await chance('100')).toBeLessThan(await chance('500'));
		expect(await chance('1,000,000')).toBeCloseTo(1, 9);
		const wrong = await loadAhead(db.database.orm, NOW, 'a lot');
		expect(wrong).toMatchObject({ budget: null, budgetText: 'a lot' });
		expect(wrong.budgetProblem).toContain('a lot');
	});
});

describe('cost of a roasted kilogram', () => {
	it('has a line for every released lot, with its parts adding up', async () => {
		const { lots } = await loadPrice(db.database.orm, NOW);
		expect(lots.map(({ code }) => code)).toEqual(expect.arrayContaining(['HR-147', 'HR-149']));
		for (const { code, basis, testing, tests } of lots) {
			expect(basis!.withTestingE4).toBe(
				basis!.green.perKgE4 + basis!.roasting!.perKgE4 + basis!.testing!.perKgE4
			);
			const behind = await testsOf(code);
			expect([tests, testing]).toEqual([behind.tests.length, behind.total.net]);
			// The kilogram's share is rounded by half a ten-thousandth at most; over all kilograms:
			const kg = basis!.expectedRoastedG / 1000;
			const offE4 = Math.abs(basis!.testing!.perKgE4 * kg - testing.minor * 100);
			expect(offE4).toBeLessThanOrEqual(0.5 * kg + 1e-6);
		}
	});
});

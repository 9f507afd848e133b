import { describe, expect, it } from 'vitest';
import type { AffectiveForm, SumForm } from './cupping.ts';
import { panelResults } from './panel.ts';
import { applyRule, goesAgainst, type VerdictRule } from './verdictRule.ts';

/** A sheet of 2004 that scores 80 + 4 x the flavour above 7.5 ... all else at 7.5, five clean cups: 82.5. */
function sum(by: string, flavour: number, over: Partial<SumForm> = {}) {
	const sheet: SumForm = {
		...{ form: 'sum', fragranceAroma: 7.5, aftertaste: 7.5, acidity: 7.5, body: 7.5, balance: 7.5 },
		...{ flavour, overall: 7.5, uniformCups: 5, cleanCups: 5, sweetCups: 5 },
		...{ taintCups: 0, faultCups: 0, ...over }
	};
	return { by, sheet };
}

const eights: AffectiveForm = {
	...{ form: 'affective', fragrance: 8, aroma: 8, flavour: 8, aftertaste: 8, acidity: 8 },
	...{ sweetness: 8, mouthfeel: 8, overall: 8, nonUniformCups: 1, defectiveCups: 0 }
};

describe('what a panel found', () => {
	it('counts a cupper once, however often the coffee was scored (rule 1)', () => {
		const [result] = panelResults([sum('Ada', 7), sum('Ada', 8), sum('Bo', 8.5)]);
		// Ada 82 and 83, so 82.5; Bo 83.5.
		expect(result).toMatchObject({ mean: 83, cuppers: 2, sheets: 3, lowest: 82.5, highest: 83.5 });
	});

	it('has no spread from one cupper, and the range from more (rule 2)', () => {
		expect(panelResults([sum('Ada', 7)])[0]!.spread).toBeNull();
		expect(panelResults([sum('Ada', 7), sum('Bo', 8.5)])[0]!.spread).toBe(1.5);
	});

	it('counts spoilt cups over all sheets, and keeps the forms apart (rule 3)', () => {
		const results = panelResults([
			sum('Ada', 7, { faultCups: 1 }),
			sum('Bo', 7, { taintCups: 2, faultCups: 1 }),
			{ by: 'Ada', sheet: eights }
		]);
		expect(results).toMatchObject([
			{ form: '2004', taintCups: 2, faultCups: 2 },
			{ form: '2024', taintCups: 1, faultCups: 0, cuppers: 1 }
		]);
	});
});

describe('a verdict rule', () => {
	const rule: VerdictRule = { form: '2004', minScore: 83, maxSpread: 1, noFaultCups: true };

	it('is met when each of its parts is (rule 2), and says what it saw', () => {
		const outcome = applyRule(rule, panelResults([sum('Ada', 8), sum('Bo', 8.5)]));
		expect(outcome.says).toBe('met');
		expect(outcome.checks.map(({ found }) => found)).toEqual([
			'83.25 from 2 cuppers',
			'0.50, from 83.00 to 83.50',
			'0 of 10 cups'
		]);
	});

	it.each([
		['the mean', [sum('Ada', 7), sum('Bo', 7.5)], 0],
		['the spread', [sum('Ada', 7.5), sum('Bo', 9.5)], 1],
		['a fault', [sum('Ada', 9), sum('Bo', 9.75), sum('Cy', 13 - 4 - 0.25, { faultCups: 0 })], -1],
		['a fault cup', [sum('Ada', 10, { faultCups: 1 }), sum('Bo', 10, { faultCups: 1 })], 2]
	] as const)('tells %s alone', (_, sheets, failing) => {
		const { checks } = applyRule(rule, panelResults(sheets));
		if (failing >= 0) expect(checks[failing]!.holds).toBe(false);
		else expect(checks.every(({ holds }) => holds)).toBe(true);
	});

	it("can't tell a spread from one cupper (rule 3), unless another part fails (rule 4)", () => {
		expect(applyRule(rule, panelResults([sum('Ada', 8.5)])).says).toBe("can't be told");
		expect(applyRule(rule, panelResults([sum('Ada', 7)])).says).toBe('not met');
	});

	it('does not look at the other form (rule 1)', () => {
		const { says, checks } = applyRule(rule, panelResults([{ by: 'Ada', sheet: eights }]));
		expect(says).toBe("can't be told");
		expect(checks[0]!.found).toBe('no cupping on the form of 2004');
	});

	it('is gone against by approving what fails and by rejecting what passes (rule 5)', () => {
		const against = (['approve', 'adjust', 'reject'] as const).map((verdict) =>
			(['met', 'not met', "can't be told"] as const).map((says) => goesAgainst(verdict, says))
		);
		expect(against).toEqual([
			[false, true, true],
			[false, false, false],
			[true, false, false]
		]);
	});
});

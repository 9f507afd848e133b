import { describe, expect, it } from 'vitest';
import { panelAgreement, repeatability, type PanelSheet } from './panelAgreement.ts';
import { scoreChange } from './sampleChange.ts';

/** Sheets of one table: scores of each cupper, cup by cup; coffees by letter. */
function table(
	session: number,
	coffees: string,
	scores: Readonly<Record<string, readonly number[]>>
): PanelSheet[] {
	return Object.entries(scores).flatMap(([cupper, own]) =>
		own.map((score, i) => ({
			...{ session, cupper, score },
			cup: session * 100 + i,
			coffee: coffees[i]!
		}))
	);
}

const SIX = 'abcdef';
/** Bo is about a point above two who agree; Cy scored three cups. */
const ONE_HIGH = table(1, SIX, {
	Ada: [84, 82, 86, 81, 84, 83],
	Bo: [85, 83.25, 86.75, 82, 85.25, 83.75],
	Di: [84.25, 82, 85.75, 81.25, 84, 83],
	Cy: [84, 82, 86]
});

describe('who is off', () => {
	const agreement = panelAgreement(ONE_HIGH);
	const of = (name: string) => agreement.cuppers.find(({ cupper }) => cupper === name)!;

	it('is named first, with how much, how sure and on how little (rules 2 and 4)', () => {
		expect(agreement.cuppers[0]!.cupper).toBe('Bo');
		expect(of('Bo').says).toBe('above');
		expect(of('Bo').words).toBe(
			'Bo scores 0.94 points above the middle of the panel (+0.68 to +1.20) on 6 cups of 1 session.'
		);
	});

	it('does not make the others look off (rule 1)', () => {
		expect(of('Ada').says).toBe('in line');
		expect(of('Di').says).toBe('in line');
	});

	it('is not told from fewer than five cups (rule 3)', () => {
		expect(of('Cy')).toMatchObject({ says: 'too few', bias: null, spread: null, cups: 3 });
		expect(of('Cy').words).toContain('Too few to tell for Cy');
	});

	it('is not said of less than a quarter point, however sure (rule 4)', () => {
		const near = table(1, SIX, {
			Ada: [84, 82, 86, 81, 84, 83],
			Bo: [84.2, 82.2, 86.2, 81.2, 84.2, 83.2],
			Di: [84, 82, 86, 81, 84, 83]
		});
		const [bo] = panelAgreement(near).cuppers;
		expect(bo).toMatchObject({ cupper: 'Bo', says: 'in line' });
		expect(bo!.bias!.low).toBeGreaterThan(0);
	});

	it('is not told of two: nobody can say which (rule 1)', () => {
		const two = { Ada: [84, 82, 86, 81, 84, 83], Bo: [88, 86, 89, 85, 88, 87] };
		const { cuppers } = panelAgreement(table(1, SIX, two));
		expect(cuppers[0]).toMatchObject({ cups: 0, meanDifference: null, says: 'too few' });
	});
});

describe('repeatability (rule 5)', () => {
	it('comes from a coffee that stood under two codes, cupper by cupper', () => {
		// Differences of 1, 0.5, 0.5 and 2: sum of d^2 / 2 over 4 degrees of freedom.
		const sheets = table(1, 'aa', { Ada: [84, 85], Bo: [82, 82.5], Cy: [83, 82.5], Di: [80, 82] });
		const found = repeatability(sheets, 'one table')!;
		expect(found.df).toBe(4);
		expect(found.sd).toBeCloseTo(Math.sqrt((1 + 0.25 + 0.25 + 4) / 2 / 4), 12);
		expect(repeatability(sheets, 'several tables')).toBeNull();
	});

	it('is not told from three repeats', () => {
		const sheets = table(1, 'aa', { Ada: [84, 85], Bo: [82, 82.5], Cy: [83, 82.5] });
		expect(repeatability(sheets, 'one table')).toBeNull();
	});
});

describe('ranks of a table (rule 6)', () => {
	it('are those of the cuppers who scored every cup', () => {
		const [ranks] = panelAgreement(ONE_HIGH).tables;
		expect(ranks).toMatchObject({ cups: 6, cuppers: 3 });
		expect(ranks!.ranks!.w).toBeGreaterThan(0.95);
	});

	it('are not told from two cups', () => {
		const [ranks] = panelAgreement(table(1, 'ab', { Ada: [84, 85], Bo: [82, 83] })).tables;
		expect(ranks!.ranks).toBeNull();
	});
});

describe('a change of samples', () => {
	/** Every cupper repeats a reference r within half a point; offer o and arrival n stand beside it. */
	const scored = (fall: number) =>
		table(1, 'rron', {
			Ada: [84, 84.5, 86, 86 - fall],
			Bo: [85, 84.5, 87, 87.25 - fall],
			Cy: [84, 84.5, 86, 85.75 - fall],
			Di: [83, 83.5, 85, 85 - fall]
		});

	it('is pointed out beyond what repeats differ by, on one table (rule 2)', () => {
		const change = scoreChange(scored(2), 'o', 'n')!;
		expect(change).toMatchObject({ where: 'one table', cuppers: 4, isOutside: true });
		expect(change.difference).toBeCloseTo(-2, 12);
		// s = sqrt(4 x 0.125 / 4); t(0.975, 4) = 2.7764451051977934 (scipy 1.17.1, ran).
		expect(change.limit).toBeCloseTo(2.7764451051977934 * Math.sqrt(0.125) * Math.sqrt(2 / 4), 9);
	});

	it('is not where it is as small as repeats are (rule 4)', () => {
		expect(scoreChange(scored(0.25), 'o', 'n')!.isOutside).toBe(false);
	});

	it('counts only cuppers who scored both, each against the own score (rule 1)', () => {
		const sheets = [...scored(0), { session: 1, cup: 103, coffee: 'n', cupper: 'Ed', score: 60 }];
		expect(scoreChange(sheets, 'o', 'n')!.cuppers).toBe(4);
	});

	it('has a wider limit over several tables, where the day may shift all (rule 3)', () => {
		const first = table(1, 'ro', { Ada: [84, 86], Bo: [85, 87], Cy: [84, 86], Di: [83, 85] });
		const second = table(2, 'rn', {
			Ada: [84.5, 85],
			Bo: [84.5, 86],
			Cy: [84.5, 85],
			Di: [83.5, 84]
		});
		const change = scoreChange([...first, ...second], 'o', 'n')!;
		expect(change).toMatchObject({ where: 'several tables', difference: -1, isOutside: false });
		expect(change.limit).toBeCloseTo(2.7764451051977934 * Math.sqrt(0.125) * Math.SQRT2, 9);
	});

	it('says nothing without repeats, and is none without a cupper who scored both', () => {
		const bare = table(1, 'on', { Ada: [86, 80], Bo: [87, 81] });
		expect(scoreChange(bare, 'o', 'n')).toMatchObject({ limit: null, isOutside: null });
		expect(scoreChange(bare, 'o', 'x')).toBeNull();
	});
});

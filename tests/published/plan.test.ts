import { describe, expect, it } from 'vitest';
import { planOf, problem, production, roaster } from '#support/plan-problems.ts';
import { checkPlan } from '#lib/domain/plan/check.ts';
import { MINUTE_MS } from '#lib/domain/plan/timeline.ts';

/**
 * One machine, jobs of p minutes due at d: a roaster with batches of a minute that takes 1 kg, and p kg
 * of a lot due d minutes after the start.
 */
function lateness(p: readonly number[], d: readonly number[]): readonly number[] {
	const startMs = 0;
	const needs = p.map((kg, i) =>
		production({ lotId: i + 1, greenG: kg * 1000, dueMs: startMs + d[i]! * MINUTE_MS })
	);
	const minutes = p.reduce((sum, kg) => sum + kg, 0);
	const given = problem({
		fromMs: startMs,
		roasters: [
			roaster({ minChargeG: 1000, maxChargeG: 1000, cycleMin: 1, warmUpMin: 0, changeovers: [] })
		],
		windows: [{ roasterId: 1, startMs, endMs: startMs + minutes * MINUTE_MS }],
		production: needs
	});
	const plan = planOf(given);
	expect(checkPlan(given, plan)).toEqual([]);
	expect(plan.unplaced).toEqual([]);
	return p.map((_, i) => {
		const ends = plan.slots.filter(({ lotId }) => lotId === i + 1).map(({ endMs }) => endMs);
		return Math.max(...ends) / MINUTE_MS - d[i]!;
	});
}

/** The least maximum lateness over every order of the jobs, the slow obvious way. */
function leastLmax(p: readonly number[], d: readonly number[], done = 0): number {
	if (p.length === 0) return -Infinity;
	return Math.min(
		...p.map((own, i) =>
			Math.max(done + own - d[i]!, leastLmax(p.toSpliced(i, 1), d.toSpliced(i, 1), done + own))
		)
	);
}

/** Jackson's rule (1955): earliest due first gives the least maximum lateness on one machine. */
describe('earliest due first on one machine', () => {
	// The Moore-Hodgson instance of Pinedo, Scheduling (data from memory); 10 found by enumeration.
	it('gives Lmax 10 on p 7 8 4 6 6, d 9 17 18 19 21', () => {
		const [p, d] = [
			[7, 8, 4, 6, 6],
			[9, 17, 18, 19, 21]
		];
		expect(Math.max(...lateness(p, d))).toBe(10);
		expect(leastLmax(p, d)).toBe(10);
	});

	// The total-tardiness instance of Pinedo with three more jobs (data from memory); 262 by enumeration.
	it('gives Lmax 262 on p 121 79 147 83 130 102 96 88, d 260 266 266 336 337 400 683 719', () => {
		const p = [121, 79, 147, 83, 130, 102, 96, 88];
		const d = [260, 266, 266, 336, 337, 400, 683, 719];
		expect(Math.max(...lateness(p, d))).toBe(262);
		expect(leastLmax(p, d)).toBe(262);
	});
});

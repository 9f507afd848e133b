import { describe, expect, it } from 'vitest';
import { roaster } from '#support/plan-problems.ts';
import { seededChance } from '../stats/chance.ts';
import { chargeOf, nearestChangeG, splitsOf, type BatchSplit } from './batches.ts';

const big = roaster({ minChargeG: 20_000, maxChargeG: 60_000, cycleMin: 16 });
const small = roaster({ id: 2, minChargeG: 3000, maxChargeG: 15_000, cycleMin: 13 });

function chargesOf(split: BatchSplit): readonly (readonly number[])[] {
	return split.runs.map((run) => Array.from({ length: run.count }, (_, i) => chargeOf(run, i)));
}

describe('splits of a need into batches', () => {
	it('are as few and as even as the limits allow, fewest roaster minutes first', () => {
		expect(splitsOf(70_000, [big, small]).map(chargesOf)).toEqual([
			// Each filled to the same share of its span: (70 - 23) / (75 - 23) of it.
			[[56_154], [13_846]],
			[[35_000, 35_000]],
			[[14_000, 14_000, 14_000, 14_000, 14_000]]
		]);
	});

	it('hold what they can when no number of batches holds it all', () => {
		const narrow = roaster({ minChargeG: 50_000, maxChargeG: 60_000 });
		expect(splitsOf(75_000, [narrow]).map(chargesOf)).toEqual([[[60_000]]]);
		expect(splitsOf(2999, [big, small])).toEqual([]);
		expect(splitsOf(0, [big])).toEqual([]);
		expect(splitsOf(1000, [])).toEqual([]);
	});

	it('agree with trying every number of batches, on 400 random cases', () => {
		const next = seededChance(4);
		for (let i = 0; i < 400; i += 1) {
			const [a, b] = [1, 2].map((id) => {
				const minChargeG = 1 + Math.floor(next() * 30);
				return roaster({ id, minChargeG, maxChargeG: minChargeG + Math.floor(next() * 30) });
			});
			const greenG = 1 + Math.floor(next() * 200);
			const given = `${greenG} g on ${a!.minChargeG}-${a!.maxChargeG} and ${b!.minChargeG}-${b!.maxChargeG}`;
			const possible = everyMassG(a!, b!, 300);
			const splits = splitsOf(greenG, [a!, b!]);
			const mostG = Math.max(0, ...[...possible].filter((massG) => massG <= greenG));
			expect(splits[0]?.plannedG ?? 0, given).toBe(mostG);
			for (const split of splits) {
				const charges = chargesOf(split);
				expect(charges.flat().reduce((sum, g) => sum + g, 0)).toBe(split.plannedG);
				charges.forEach((run, r) => {
					const { minChargeG, maxChargeG } = split.runs[r]!.roaster;
					expect(Math.min(...run), given).toBeGreaterThanOrEqual(minChargeG);
					expect(Math.max(...run), given).toBeLessThanOrEqual(maxChargeG);
					expect(Math.max(...run) - Math.min(...run), given).toBeLessThanOrEqual(1);
				});
			}
			const changes = [...possible].filter((massG) => massG > 0).map((massG) => massG - greenG);
			const nearest = Math.min(...changes.map(Math.abs));
			expect(Math.abs(nearestChangeG(greenG, [a!, b!])!), given).toBe(nearest);
		}
	});
});

/** Every mass that some number of batches on two roasters can hold, the slow obvious way. */
function everyMassG(
	a: { readonly minChargeG: number; readonly maxChargeG: number },
	b: { readonly minChargeG: number; readonly maxChargeG: number },
	upToG: number
): ReadonlySet<number> {
	const masses = new Set<number>();
	for (let onA = 0; onA * a.minChargeG <= upToG; onA += 1) {
		for (let onB = 0; onA * a.minChargeG + onB * b.minChargeG <= upToG; onB += 1) {
			const leastG = onA * a.minChargeG + onB * b.minChargeG;
			const mostG = onA * a.maxChargeG + onB * b.maxChargeG;
			for (let massG = leastG; massG <= Math.min(mostG, upToG); massG += 1) masses.add(massG);
		}
	}
	return masses;
}

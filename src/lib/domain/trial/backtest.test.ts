import { describe, expect, it } from 'vitest';
import type { LotEvents, TestEvents } from '../lot/lot.ts';
import { backtestTests } from './backtest.ts';
import { betaGeometricPmf } from '../stats/discrete.ts';
import type { LotPast } from './remaining.ts';

/** A washed lot with a test every ten units of time from `from` on, the last of them approved. */
function lot(lotId: number, from: number, tests: number, isReleased = true): LotPast {
	const batches = Array.from({ length: tests }, (_, i): TestEvents => {
		const at = from + 10 * i;
		const verdict = isReleased && i === tests - 1 ? 'approve' : 'adjust';
		return {
			number: i + 1,
			plannedAt: at - 1,
			roastedAt: at,
			cuppedAt: at + 1,
			verdictAt: at + 2,
			verdict
		};
	});
	const events: LotEvents = {
		createdAt: 0,
		receivedAt: 0,
		arrivalSampleAt: 0,
		tests: batches,
		releasedAt: isReleased ? [from + 10 * tests] : [],
		reopenedAt: [],
		rejectedAt: null,
		onHandG: 60_000,
		emptiedAt: null
	};
	return { lotId, kind: 'washed', events, reading: null };
}

describe('the back-test of the forecast of tests', () => {
	it('foretells a lot from what was recorded before its first test (rule 1)', () => {
		// Lot 2 is released after lot 3's first test, so only its first two tests, both fruitless, count.
		const { lots } = backtestTests([
			lot(1, 100, 2),
			lot(2, 200, 4),
			lot(3, 222, 1),
			lot(4, 9000, 1)
		]);
		const third = lots.find(({ lotId }) => lotId === 3)!;
		expect(third.history).toBe(1);
		// By hand: prior 4 lots of 1.5 failures, one lot of 1 failure, 2 failures more: Beta(1 + 5, 9).
		const [one, two] = betaGeometricPmf(6, 9, 2);
		expect(third.chanceFew).toBeCloseTo(one! + two!, 12);
		// By hand: (1 + 4) releases in (2 + 10) tests.
		expect(third.referenceFew).toBeCloseTo(1 - (7 / 12) ** 2, 12);
		expect(third.tests).toBe(1);
	});

	it('scores what it foretold against what came', () => {
		const { lots, brier, bins, covered } = backtestTests([
			lot(1, 100, 1),
			lot(2, 200, 1),
			lot(3, 300, 9),
			lot(4, 400, 3, false)
		]);
		expect(lots.map(({ lotId }) => lotId)).toEqual([1, 2, 3]);
		const byHand =
			lots.reduce((sum, one) => sum + (one.chanceFew - (one.tests <= 2 ? 1 : 0)) ** 2, 0) / 3;
		expect(brier).toBeCloseTo(byHand, 12);
		expect(covered).toBeCloseTo(2 / 3, 12);
		expect(bins.reduce((sum, bin) => sum + bin.lots, 0)).toBe(3);
		expect(bins.reduce((sum, bin) => sum + bin.came, 0)).toBe(2);
	});

	it('says nothing where no lot was released', () => {
		expect(backtestTests([lot(1, 100, 2, false)])).toEqual({
			lots: [],
			brier: null,
			referenceBrier: null,
			covered: null,
			bins: []
		});
	});
});

import { expect, test } from 'vitest';
import type { LotEvents, TestEvents, Verdict } from '../lot/lot.ts';
import { testsOutlook } from './outlook.ts';
import { openHistory, remainingTests, testHistory, type LotPast } from './remaining.ts';

function tested(number: number, verdict: Verdict | null, at = number * 100): TestEvents {
	return {
		number,
		plannedAt: at - 50,
		roastedAt: at,
		cuppedAt: at + 10,
		verdictAt: verdict === null ? null : at + 20,
		verdict
	};
}

function past(lotId: number, tests: TestEvents[], events: Partial<LotEvents> = {}): LotPast {
	return {
		lotId,
		kind: 'washed',
		stage: 'in test',
		events: {
			createdAt: 0,
			receivedAt: 1,
			arrivalSampleAt: 2,
			tests,
			releasedAt: [],
			reopenedAt: [],
			rejectedAt: null,
			onHandG: 60_000,
			emptiedAt: null,
			...events
		}
	};
}

const released = past(1, [tested(1, 'adjust'), tested(2, 'approve'), tested(3, 'adjust', 900)], {
	releasedAt: [500],
	reopenedAt: [800]
});
const failed = past(2, [tested(1, 'adjust'), tested(2, 'adjust')]);

test('history counts the tests up to the first release', () => {
	expect(testHistory([released, failed])).toEqual([{ kind: 'washed', testsToRelease: 2 }]);
});

test('open history counts the failed tests of other lots without a release', () => {
	expect(openHistory([released, failed], 9)).toEqual([{ kind: 'washed', testsWithoutRelease: 2 }]);
	expect(openHistory([released, failed], 2)).toEqual([]);
});

test('rule 1: after a re-opening only later tests count', () => {
	const own = remainingTests(released, [released, failed]);
	const expected = testsOutlook([], 'washed', 1, [{ kind: 'washed', testsWithoutRelease: 2 }]);
	expect(own.chances).toEqual(expected.chances);
	expect(own.fewest).toBe(1);
});

test('rule 2: an approved test needs no further one', () => {
	const lot = past(3, [tested(1, 'adjust'), tested(2, 'approve')]);
	expect(remainingTests(lot, [lot])).toMatchObject({ fewest: 0, mean: 0, chanceBeyond: 0 });
});

test('rule 3: a test that waits for its verdict is the first of those still needed', () => {
	const waiting = past(4, [tested(1, 'adjust'), tested(2, null)]);
	const judged = past(4, [tested(1, 'adjust')]);
	const a = remainingTests(waiting, [waiting]);
	const b = remainingTests(judged, [judged]);
	expect(a.fewest).toBe(0);
	expect(a.chances[0]?.tests).toBe(0);
	expect(a.chances.map((c) => c.chance)).toEqual(b.chances.map((c) => c.chance));
	expect(a.mean).toBeCloseTo(b.mean - 1, 12);
});

import { expect, test } from 'vitest';
import type { LotEvents, TestEvents, Verdict } from '../lot/lot.ts';
import { testsOutlook } from './outlook.ts';
import { testedLots, testsAhead, testsToRelease, type LotPast } from './remaining.ts';

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
		reading: null,
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

test('tests to release are those up to the first release', () => {
	expect(testsToRelease(released.events)).toBe(2);
	expect(testsToRelease(failed.events)).toBe(null);
});

test('tested lots are the released ones, then those with failed tests', () => {
	const fresh = past(3, [tested(1, null)]);
	const traits = { kind: 'washed', earlyShare: null, crackProminence: null };
	expect(testedLots([failed, fresh, released])).toEqual([
		{ lotId: 1, ...traits, fruitless: 1, released: true },
		{ lotId: 2, ...traits, fruitless: 2, released: false }
	]);
});

test('rule 1: after a re-opening only later tests count', () => {
	const own = testsAhead([released, failed])(released);
	const expected = testsOutlook([], 'washed', 1, [{ kind: 'washed', testsWithoutRelease: 2 }]);
	expect(own.chances).toEqual(expected.chances);
	expect(own.fewest).toBe(1);
});

test('rule 2: an approved test needs no further one', () => {
	const lot = past(3, [tested(1, 'adjust'), tested(2, 'approve')]);
	expect(testsAhead([lot])(lot)).toMatchObject({ fewest: 0, mean: 0, chanceBeyond: 0 });
});

test('rule 3: a test that waits for its verdict is the first of those still needed', () => {
	const waiting = past(4, [tested(1, 'adjust'), tested(2, null)]);
	const judged = past(4, [tested(1, 'adjust')]);
	const a = testsAhead([waiting])(waiting);
	const b = testsAhead([judged])(judged);
	expect(a.fewest).toBe(0);
	expect(a.chances[0]?.tests).toBe(0);
	expect(a.chances.map((c) => c.chance)).toEqual(b.chances.map((c) => c.chance));
	expect(a.mean).toBeCloseTo(b.mean - 1, 12);
});

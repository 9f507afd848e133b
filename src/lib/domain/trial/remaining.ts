import type { LotEvents, LotKind, Stage } from '../lot/lot.ts';
import { testsOutlook, type OpenHistory, type TestHistory, type TestsOutlook } from './outlook.ts';

/**
 * Tests that a lot still has to have roasted.
 *
 * 1. Only tests since the last re-opening count: what was learnt before it no longer holds.
 * 2. An approved test needs no further one.
 * 3. A roasted test that waits for its verdict may be the last: of the tests still needed it is the
 *    first, and it needs no roasting any more.
 */

/** A lot as it counts in the history of others. */
export interface LotPast {
	readonly lotId: number;
	readonly kind: LotKind;
	readonly stage: Stage;
	readonly events: LotEvents;
}

export interface RemainingTests {
	/** Tests that must be roasted whatever they show. */
	readonly fewest: number;
	readonly chances: TestsOutlook['chances'];
	readonly chanceBeyond: number;
	readonly mean: number;
	readonly low: number;
	readonly high: number;
	/** What the figures rest on, for a person. */
	readonly basis: string;
}

/** Tests roasted up to the first release, for lots that were released; at least 1. */
export function testHistory(lots: readonly LotPast[]): TestHistory[] {
	return lots.flatMap(({ kind, events }) => {
		const released = events.releasedAt[0];
		if (released === undefined) return [];
		const roasted = events.tests.filter((t) => t.roastedAt !== null && t.roastedAt <= released);
		return [{ kind, testsToRelease: Math.max(1, roasted.length) }];
	});
}

/**
 * Lots that have failed tests and are neither released nor rejected. A rejected lot says nothing about
 * how many tests it would have needed beyond those it had, which is what an open one says too.
 */
export function openHistory(lots: readonly LotPast[], except: number): OpenHistory[] {
	return lots.flatMap(({ lotId, kind, events }) => {
		if (lotId === except || events.releasedAt.length > 0) return [];
		const testsWithoutRelease = judgedTests(events);
		return testsWithoutRelease > 0 ? [{ kind, testsWithoutRelease }] : [];
	});
}

/** The outlook of one lot that is not released, from its own records and from all other lots. */
export function remainingTests(lot: LotPast, lots: readonly LotPast[]): RemainingTests {
	const since = Math.max(0, ...lot.events.reopenedAt);
	const roasted = lot.events.tests.filter((t) => t.roastedAt !== null && t.roastedAt >= since);
	if (roasted.some((t) => t.verdict === 'approve'))
		return {
			...{
				fewest: 0,
				chances: [{ tests: 0, chance: 1 }],
				chanceBeyond: 0,
				mean: 0,
				low: 0,
				high: 0
			},
			basis: 'A test is approved; no further one is needed.'
		};
	const waiting = roasted.filter((t) => t.verdict === null).length > 0 ? 1 : 0;
	const judged = roasted.filter((t) => t.verdict !== null).length;
	const outlook = testsOutlook(
		testHistory(lots.filter(({ lotId }) => lotId !== lot.lotId)),
		lot.kind,
		judged,
		openHistory(lots, lot.lotId)
	);
	return {
		fewest: 1 - waiting,
		chances: outlook.chances.map(({ tests, chance }) => ({ tests: tests - waiting, chance })),
		chanceBeyond: outlook.chanceBeyond,
		mean: outlook.mean - waiting,
		low: outlook.low - waiting,
		high: outlook.high - waiting,
		basis: outlook.basis
	};
}

function judgedTests(events: LotEvents): number {
	return events.tests.filter((t) => t.verdict !== null && t.verdict !== 'approve').length;
}

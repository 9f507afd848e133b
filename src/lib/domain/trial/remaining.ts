import type { LotEvents, LotKind } from '../lot/lot.ts';
import { testsForecaster, type TestsForecaster } from './forecast.ts';
import type { LotTraits, TestedLot } from './hazard.ts';
import type { TestsOutlook } from './outlook.ts';

/**
 * Tests that a lot still has to have roasted.
 *
 * 1. Only tests since the last re-opening count: what was learnt before it no longer holds.
 * 2. An approved test needs no further one.
 * 3. A roasted test that waits for its verdict may be the last: of the tests still needed it is the
 *    first, and it needs no roasting any more.
 * 4. A lot is not among those that its own forecast rests on. A rejected lot says nothing about how many
 *    tests it would have needed beyond those it had, which is what an open one says too.
 */

/** What of a reading counts in the forecast. */
export type ReadingTraits = Pick<LotTraits, 'earlyShare' | 'crackProminence'>;

/** A lot as it counts in the history of others. */
export interface LotPast {
	readonly lotId: number;
	readonly kind: LotKind;
	readonly events: LotEvents;
	/** Null where its arrival sample has no reading. */
	readonly reading: ReadingTraits | null;
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

/** Tests roasted up to the first release, at least 1; null for a lot that was never released. */
export function testsToRelease(events: LotEvents): number | null {
	const released = events.releasedAt[0];
	if (released === undefined) return null;
	const roasted = events.tests.filter((t) => t.roastedAt !== null && t.roastedAt <= released);
	return Math.max(1, roasted.length);
}

/** Lots with a first release, oldest first, then those that tests have not released. */
export function testedLots(lots: readonly LotPast[]): (TestedLot & { readonly lotId: number })[] {
	const at = ({ events }: LotPast) => events.releasedAt[0] ?? Infinity;
	return [...lots]
		.sort((a, b) => (at(a) === at(b) ? 0 : at(a) - at(b)))
		.flatMap((lot) => {
			const tests = testsToRelease(lot.events);
			const fruitless = tests === null ? judgedTests(lot.events) : tests - 1;
			if (tests === null && fruitless === 0) return [];
			return [{ lotId: lot.lotId, ...traitsOf(lot), fruitless, released: tests !== null }];
		});
}

export function traitsOf({ kind, reading }: LotPast): LotTraits {
	return {
		kind,
		earlyShare: reading?.earlyShare ?? null,
		crackProminence: reading?.crackProminence ?? null
	};
}

/**
 * The outlook of any one lot that is not released, from its own records and from all other lots.
 * @param forecasterOf for whoever keeps what was fitted before
 */
export function testsAhead(
	lots: readonly LotPast[],
	forecasterOf: (tested: readonly TestedLot[]) => TestsForecaster = testsForecaster
): (lot: LotPast) => RemainingTests {
	const tested = testedLots(lots);
	const forecaster = forecasterOf(tested);
	return (lot) => {
		const since = Math.max(0, ...lot.events.reopenedAt);
		const roasted = lot.events.tests.filter((t) => t.roastedAt !== null && t.roastedAt >= since);
		if (roasted.some((t) => t.verdict === 'approve')) return NONE;
		const waiting = roasted.some((t) => t.verdict === null) ? 1 : 0;
		const judged = roasted.filter((t) => t.verdict !== null).length;
		const others = tested.filter(({ lotId }) => lotId !== lot.lotId);
		const outlook = forecaster.forecast(traitsOf(lot), judged, others);
		return {
			fewest: 1 - waiting,
			chances: outlook.chances.map(({ tests, chance }) => ({ tests: tests - waiting, chance })),
			chanceBeyond: outlook.chanceBeyond,
			mean: outlook.mean - waiting,
			low: outlook.low - waiting,
			high: outlook.high - waiting,
			basis: outlook.basis
		};
	};
}

const NONE: RemainingTests = {
	fewest: 0,
	chances: [{ tests: 0, chance: 1 }],
	chanceBeyond: 0,
	mean: 0,
	low: 0,
	high: 0,
	basis: 'A test is approved; no further one is needed.'
};

function judgedTests(events: LotEvents): number {
	return events.tests.filter((t) => t.verdict !== null && t.verdict !== 'approve').length;
}

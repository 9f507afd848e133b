import type { Verdict } from '#lib/domain/lot/lot.ts';
import type { Money } from '#lib/domain/quantity/money.ts';
import { panelResults, type PanelResult } from '#lib/domain/trial/panel.ts';
import type { TestRecord } from '../../store/tests.ts';
import type { ListedTest } from '../costing.ts';
import { momentOf, type Moment } from '../moment.ts';
import { changesFrom } from '../test.ts';
import { testHref, testState, type TestState } from '../tests.ts';

/** A test of a lot as its page lists it. */
export interface LotTestRow {
	readonly number: number;
	readonly href: string;
	readonly state: TestState;
	readonly purpose: string;
	/** As declared when it was planned. */
	readonly declared: string;
	/** What really differs from the test before: one phrase each. Null for the first test. */
	readonly changed: readonly string[] | null;
	readonly roasterName: string;
	readonly chargeG: number;
	readonly roasted: Moment | null;
	/** 0 to 1. */
	readonly weightLoss: number | null;
	/** What the cuppers found, form by form. */
	readonly results: readonly PanelResult[];
	readonly verdict: Verdict | null;
	readonly reason: string | null;
	/** Null while it is not roasted, or can't be costed. */
	readonly net: Money | null;
}

/** A lot's tests in their order. `costed` are those of `loadCosting`. */
export function lotTests(
	tests: readonly TestRecord[],
	costed: readonly ListedTest[],
	zone: string
): LotTestRow[] {
	return tests.map((test, i) => {
		const { batch, roast, verdict } = test;
		return {
			number: batch.number,
			href: testHref(test.lotCode, batch.number),
			state: testState(test),
			purpose: batch.purpose,
			declared: batch.change,
			changed: i === 0 ? null : changesFrom(tests[i - 1]!, { ...test, settings: batch.settings }),
			roasterName: test.roasterName,
			chargeG: roast?.chargeG ?? batch.settings.chargeG,
			roasted: roast ? momentOf(roast.roastedAt, zone) : null,
			weightLoss: roast ? (roast.chargeG - roast.outG) / roast.chargeG : null,
			results: panelResults(test.cuppings),
			verdict: (verdict?.verdict ?? null) as Verdict | null,
			reason: verdict?.reason ?? null,
			net: costed.find((each) => each.testId === batch.id)?.net ?? null
		};
	});
}

import { formatScaled, ratio } from '../quantity/decimal.ts';
import { formatKg } from '../quantity/mass.ts';
import { type Currency, formatMoney, type Money, money, scale } from '../quantity/money.ts';
import { splitWhole } from '../quantity/share.ts';
import type { IsoWeek } from '../quantity/time.ts';
import { addWeeks } from '../quantity/week.ts';

/**
 * The production that tests kept off the roasters, and the margin it would have earned: an estimate.
 *
 * 1. What was unmet in a week is, product by product, what was ordered for it less what was roasted of it
 *    in that week and what was roasted beyond the orders of the week before. A week is the finest that
 *    orders are recorded by. The running week is not counted: it may still be met.
 * 2. Unmet coffee belongs to the roaster that the product was mostly roasted on, and would have taken it
 *    its cycle for each batch of the usual size, begun ones whole. Less than the smallest charge gives is no
 *    batch and displaced nothing. Mostly and usual are those of the 26 weeks up to that week, so that a week's
 *    figure is the same whatever period it is asked with.
 * 3. Tests displaced no more than the time they took, and no more than the unmet coffee would have taken.
 * 4. Unmet coffee would have earned its price less green, gas and power as in a usual batch; labour and the
 *    machine are paid either way. What was displaced is the part of it that rule 3 leaves, by time.
 * 5. The displaced time and margin of a roaster's week are shared among its tests by their time, so that
 *    sums of tests are exact.
 *
 * Whether the roaster also stood idle in that week isn't recorded, so the estimate is rather too high than
 * too low. Common practice, no source.
 */

export interface TestSlot {
	readonly testId: number;
	readonly week: IsoWeek;
	readonly roasterId: number;
	/** Whole seconds on the roaster. */
	readonly machineS: number;
}

/** Orders of one product for one week. */
export interface WeekOrder {
	readonly week: IsoWeek;
	readonly productId: number;
	readonly roastedG: number;
}

/** Production of one product on one roaster in one week. */
export interface WeekMade {
	readonly week: IsoWeek;
	readonly productId: number;
	readonly roasterId: number;
	readonly batches: number;
	readonly greenG: number;
	readonly outG: number;
	/** Green, gas and power of these batches, minor units. */
	readonly spentMinor: number;
}

export interface DisplacedFrom {
	readonly currency: Currency;
	readonly tests: readonly TestSlot[];
	readonly orders: readonly WeekOrder[];
	readonly made: readonly WeekMade[];
	/** Minor units a roasted kilogram by product id, and what a person calls the product. */
	readonly products: ReadonlyMap<number, { readonly code: string; readonly priceMinor: number }>;
	/** By roaster id: minutes from charge to charge, and the smallest charge. */
	readonly roasters: ReadonlyMap<
		number,
		{ readonly cycleMin: number; readonly minChargeG: number }
	>;
	/** Not over yet (rule 1). */
	readonly runningWeek: IsoWeek;
}

/** What one test displaced. */
export interface Displaced {
	/** Thousandths of a production slot. */
	readonly milliSlots: number;
	readonly margin: Money;
}

/** One product that fell short in a week. */
export interface Unmet {
	readonly code: string;
	readonly roastedG: number;
	readonly batches: number;
	/** Time it would have taken. */
	readonly seconds: number;
	/** What it would have earned. */
	readonly margin: Money;
}

/** One roaster's week with tests. */
export interface DisplacedWeek {
	readonly week: IsoWeek;
	readonly roasterId: number;
	readonly testS: number;
	readonly unmet: readonly Unmet[];
	readonly displacedS: number;
	readonly milliSlots: number;
	readonly margin: Money;
	/** One sentence: the inputs, or why it is nothing. */
	readonly because: string;
}

export interface DisplacedAll {
	/** By test id; every test given is in it. */
	readonly tests: ReadonlyMap<number, Displaced>;
	/** In the order of weeks, then roasters. */
	readonly weeks: readonly DisplacedWeek[];
}

/** Weeks whose production says what is usual (rule 2). */
export const USUAL_WEEKS = 26;

/** What tests displaced, test by test and week by week; `made` holds the `USUAL_WEEKS` up to each week. */
export function displacedByTests(from: DisplacedFrom): DisplacedAll {
	const unmetOf = unmetByWeek(from);
	const tests = new Map<number, Displaced>();
	const groups = Map.groupBy(from.tests, ({ week, roasterId }) => `${week} ${roasterId}`);
	const weeks = [...groups.values()].map((own) => {
		const found = displacedWeek(from, own, unmetOf);
		for (const [testId, share] of sharesOf(own, found)) tests.set(testId, share);
		return found;
	});
	weeks.sort((a, b) => (a.week === b.week ? a.roasterId - b.roasterId : a.week < b.week ? -1 : 1));
	return { tests, weeks };
}

/** Rule 5. */
function sharesOf(own: readonly TestSlot[], { milliSlots, margin }: DisplacedWeek) {
	const weights = own.map(({ machineS }) => machineS);
	const isAny = weights.some((weight) => weight > 0);
	const split = (all: number) => (isAny ? splitWhole(all, weights) : weights.map(() => 0));
	const [slots, margins] = [split(milliSlots), split(margin.minor)];
	return own.map(({ testId }, i): [number, Displaced] => [
		testId,
		{ milliSlots: slots[i]!, margin: money(margins[i]!, margin.currency) }
	]);
}

type UnmetOf = (week: IsoWeek, roasterId: number) => readonly Unmet[];

/** Rules 1 and 2. */
function unmetByWeek(from: DisplacedFrom): UnmetOf {
	const key = (week: IsoWeek, productId: number) => `${week} ${productId}`;
	const ordered = new Map<string, number>();
	for (const { week, productId, roastedG } of from.orders)
		ordered.set(key(week, productId), roastedG);
	const roasted = new Map<string, number>();
	for (const { week, productId, outG } of from.made)
		roasted.set(key(week, productId), (roasted.get(key(week, productId)) ?? 0) + outG);
	const madeIn = Map.groupBy(from.made, ({ week }) => week);
	const ordersIn = new Set(from.orders.map(({ week }) => week));
	const weeks = [...new Set(from.tests.map(({ week }) => week))].filter((week) =>
		ordersIn.has(week)
	);
	const unmet = new Map<string, Unmet[]>();
	for (const week of weeks) {
		const lately = Array.from(
			{ length: USUAL_WEEKS },
			(_, back) => madeIn.get(addWeeks(week, -back)) ?? []
		).flat();
		for (const [productId, batch] of usualBatches(from, lately)) {
			const of = (each: IsoWeek, amounts: Map<string, number>) =>
				amounts.get(key(each, productId)) ?? 0;
			const before = addWeeks(week, -1);
			const ahead = Math.max(0, of(before, roasted) - of(before, ordered));
			const roastedG = of(week, ordered) - of(week, roasted) - ahead;
			if (roastedG < batch.smallestOutG) continue;
			const batches = Math.ceil(roastedG / batch.outG);
			const at = key(week, batch.roasterId);
			const missed: Unmet = {
				...{ code: batch.code, roastedG, batches },
				seconds: batches * batch.cycleS,
				margin: money(Math.round(roastedG * batch.marginPerG), from.currency)
			};
			unmet.set(at, [...(unmet.get(at) ?? []), missed]);
		}
	}
	return (week, roasterId) => unmet.get(key(week, roasterId)) ?? [];
}

interface UsualBatch {
	readonly code: string;
	readonly roasterId: number;
	readonly outG: number;
	readonly smallestOutG: number;
	readonly cycleS: number;
	/** Minor units a roasted gram. */
	readonly marginPerG: number;
}

/** The usual batch of each product on the roaster that made most of it (rules 2 and 4). */
function usualBatches(from: DisplacedFrom, made: readonly WeekMade[]): Map<number, UsualBatch> {
	const usual = new Map<number, UsualBatch>();
	const byProduct = [...Map.groupBy(made, (row) => row.productId)].sort(([a], [b]) => a - b);
	for (const [productId, rows] of byProduct) {
		const product = from.products.get(productId);
		const total = (of: (row: WeekMade) => number, own: readonly WeekMade[]) =>
			own.reduce((all, row) => all + of(row), 0);
		const byRoaster = [...Map.groupBy(rows, (row) => row.roasterId)].map(([roasterId, own]) => ({
			roasterId,
			batches: total((row) => row.batches, own),
			greenG: total((row) => row.greenG, own),
			outG: total((row) => row.outG, own),
			spentMinor: total((row) => row.spentMinor, own)
		}));
		const most = byRoaster.sort((a, b) => b.outG - a.outG)[0]!;
		const roaster = from.roasters.get(most.roasterId);
		if (!product || !roaster || most.outG === 0) continue;
		usual.set(productId, {
			code: product.code,
			roasterId: most.roasterId,
			outG: most.outG / most.batches,
			smallestOutG: (roaster.minChargeG * most.outG) / most.greenG,
			cycleS: roaster.cycleMin * 60,
			marginPerG: product.priceMinor / 1000 - most.spentMinor / most.outG
		});
	}
	return usual;
}

/** Rules 3 and 4. */
function displacedWeek(
	from: DisplacedFrom,
	own: readonly TestSlot[],
	unmetOf: UnmetOf
): DisplacedWeek {
	const { week, roasterId } = own[0]!;
	const testS = own.reduce((all, { machineS }) => all + machineS, 0);
	const about = { week, roasterId, testS };
	const none = (because: string): DisplacedWeek => ({
		...{ ...about, because, unmet: [], displacedS: 0, milliSlots: 0 },
		margin: money(0, from.currency)
	});
	if (week >= from.runningWeek) return none('The week is not over: its orders may still be met.');
	if (!from.orders.some((order) => order.week === week))
		return none('Nothing: no orders are recorded for this week.');
	const unmet = unmetOf(week, roasterId);
	const unmetS = unmet.reduce((all, { seconds }) => all + seconds, 0);
	if (unmetS === 0)
		return none('Nothing: by the end of the week no batch was missing of what was ordered.');
	const displacedS = Math.min(testS, unmetS);
	const unmetMargin = unmet.reduce((all, { margin }) => all + margin.minor, 0);
	const part = ratio(displacedS, unmetS);
	const margin = scale(money(Math.max(0, unmetMargin), from.currency), part);
	const cycleS = (from.roasters.get(roasterId)?.cycleMin ?? 0) * 60;
	return {
		...{ ...about, unmet, displacedS, margin },
		milliSlots: cycleS > 0 ? Math.round((displacedS * 1000) / cycleS) : 0,
		because: wordsOf(testS, unmetS, unmet)
	};
}

function wordsOf(testS: number, unmetS: number, unmet: readonly Unmet[]): string {
	const minutes = (seconds: number) => `${formatScaled(Math.round(seconds / 60), 0)} min`;
	const products = unmet.map(
		({ code, roastedG, batches, margin }) =>
			`${formatKg(roastedG)} of ${code} (${batches} ${batches === 1 ? 'batch' : 'batches'}, ${formatMoney(margin)})`
	);
	return `${minutes(Math.min(testS, unmetS))}, the lesser of ${minutes(testS)} of tests and ${minutes(unmetS)} for what was ordered and not roasted: ${products.join(', ')}.`;
}

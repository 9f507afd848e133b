import { CARRIED_WEEKS } from '#lib/domain/demand/cover.ts';
import { explodeDemand } from '#lib/domain/demand/explosion.ts';
import type { ProductBlend, WeeklyDemand } from '#lib/domain/demand/products.ts';
import type { LotSupply, MadeBatch, WeekAsked } from '#lib/domain/demand/succession.ts';
import type { WeightLoss } from '#lib/domain/demand/weightLoss.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { Day, IsoWeek } from '#lib/domain/quantity/time.ts';
import { addWeeks, daysOfWeek, weeksBetween } from '#lib/domain/quantity/week.ts';
import type { BlendPart, DemandRow, Product } from '../store/production.ts';
import type { Lot } from '../store/lots.ts';

/** What the succession of lots is planned from: demand by week as its blends name the lots. */

/** Weeks after the recorded orders over which their mean is carried on. */
const WEEKS_CARRIED = 26;

export interface Asking {
	readonly today: Day;
	readonly week: IsoWeek;
	readonly products: readonly Product[];
	readonly blends: readonly BlendPart[];
	/** From this week on, by week. */
	readonly demand: readonly DemandRow[];
	readonly losses: ReadonlyMap<number, WeightLoss>;
	/** Production of this week so far. */
	readonly made: readonly MadeBatch[];
}

export interface Asked {
	readonly weeks: readonly WeekAsked[];
	/** First and last week with recorded orders; null without any. */
	readonly known: { readonly from: IsoWeek; readonly to: IsoWeek } | null;
	/** Demand that can't be turned into lots, and why. */
	readonly problems: readonly Problem[];
}

/** Every week from this one to the last with orders, then those that they are carried on to. */
export function weeksAsked(asking: Asking): Asked {
	const { demand, week, today } = asking;
	if (demand.length === 0) return { weeks: [], known: null, problems: [] };
	const known = { from: demand[0]!.week, to: demand.at(-1)!.week };
	const parts = Map.groupBy(asking.blends, (part) => part.productId);
	const rows = Map.groupBy(demand, (row) => row.week);
	const carried = carriedDemand(demand, known);
	const weeks: WeekAsked[] = [];
	const problems: Problem[] = [];
	const last = weeksBetween(week, known.to);
	for (let ahead = 0; ahead <= last + WEEKS_CARRIED; ahead += 1) {
		const each = ahead === 0 ? week : addWeeks(week, ahead);
		const isKnown = ahead <= last;
		const days = daysOfWeek(each);
		const blends = asking.products.flatMap(
			(product) => blendOn(product, parts.get(product.id) ?? [], days[0]!) ?? []
		);
		const asked = isKnown ? (rows.get(each) ?? []) : carried.map((row) => ({ ...row, week: each }));
		const made = new Set(blends.map((blend) => blend.productId));
		if (isKnown) problems.push(...unmade(asking.products, asked, made));
		const exploded = explodeDemand(
			blends,
			asked.filter((row) => made.has(row.productId)),
			asking.losses
		);
		if (!exploded.ok && isKnown) problems.push(...exploded.problems);
		weeks.push({
			...{ week: each, isKnown, blends },
			days: ahead === 0 ? days.filter((day) => day >= today) : days,
			needs: exploded.ok ? exploded.value : [],
			made: ahead === 0 ? asking.made : []
		});
	}
	return { weeks, known, problems };
}

/** What a product is made of from a Monday on: the newest block of its parts not after it. */
export function blendOn(
	product: Product,
	own: readonly BlendPart[],
	monday: Day
): ProductBlend | null {
	const from = own.findLast((part) => part.fromDay <= monday)?.fromDay;
	if (from === undefined) return null;
	return {
		productId: product.id,
		code: product.code,
		name: product.name,
		components: own.filter((part) => part.fromDay === from)
	};
}

/** Lots that replace each lot, those that are ready first first. */
export function successors(
	lots: readonly Lot[],
	readyDays: ReadonlyMap<number, Day | null>
): ReadonlyMap<number, readonly number[]> {
	const day = ({ id }: Lot) => readyDays.get(id) ?? '9999';
	const later = lots
		.filter((lot) => lot.replacesLotId !== null && readyDays.get(lot.id) !== undefined)
		.sort((a, b) => (day(a) === day(b) ? a.id - b.id : day(a) < day(b) ? -1 : 1));
	return new Map(
		[...Map.groupBy(later, (lot) => lot.replacesLotId!)].map(([id, next]) => [
			id,
			next.map((lot) => lot.id)
		])
	);
}

/** Whether two supplies of the same lots come to the same succession. */
export function isSameSupply(a: readonly LotSupply[], b: readonly LotSupply[]): boolean {
	return a.every((lot, i) => lot.readyDay === b[i]!.readyDay);
}

/** The mean of the last weeks with orders, by product. */
function carriedDemand(
	demand: readonly DemandRow[],
	known: { readonly from: IsoWeek; readonly to: IsoWeek }
): Pick<WeeklyDemand, 'productId' | 'roastedG'>[] {
	const weeks = Math.min(CARRIED_WEEKS, weeksBetween(known.from, known.to) + 1);
	const first = addWeeks(known.to, 1 - weeks);
	const last = demand.filter((row) => row.week >= first);
	return [...Map.groupBy(last, (row) => row.productId)].map(([productId, rows]) => ({
		productId,
		roastedG: Math.round(rows.reduce((sum, row) => sum + row.roastedG, 0) / weeks)
	}));
}

function unmade(
	products: readonly Product[],
	asked: readonly WeeklyDemand[],
	made: ReadonlySet<number>
): Problem[] {
	return asked
		.filter((row) => row.roastedG > 0 && !made.has(row.productId))
		.map((row) => ({
			path: `${row.week}, ${products.find((p) => p.id === row.productId)?.code ?? ''}`,
			message: 'The product has orders but nothing says what it is made of.'
		}));
}

import { batchCost, type BatchItem } from '#lib/domain/cost/batch.ts';
import { summed, type Figure, type LeftOver, type Part } from '#lib/domain/plan/compare.ts';
import type { Slot } from '#lib/domain/plan/plan.ts';
import { regularEndOf, type PlanProblem } from '#lib/domain/plan/problem.ts';
import { roundProduct } from '#lib/domain/quantity/decimal.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import { dayOf } from '#lib/domain/quantity/week.ts';
import { costWithoutGreen, rateOn, type CostRules } from '../costing.ts';
import type { Roastery } from '../roastery.ts';

/**
 * What a plan costs to run, in minor units, by the rates that tests are costed by. Rules:
 * 1. A batch costs gas and power, labour, machine time and, for a test, quality time, each rounded by itself as
 *    in domain/cost/batch.ts. Green coffee is left out: a kilogram is the same whenever it is roasted.
 * 2. Warm-up, cleaning and changeover cost labour and machine time for as long as they last, by roaster and
 *    day; what gas they burn is on no record.
 * 3. Apart from that sum: what the staffed hours and the overtime come to at the plain labour rate, since a
 *    shift is paid whether or not it is full. No premium for overtime is on record.
 * 4. Apart too: what roasted coffee of the orders would sell for that has no slot, at the products' prices.
 */
export const MONEY_FIGURES = [
	'energy',
	'labour',
	'machine',
	'quality',
	'setups',
	'running',
	'staffedLabour',
	'overtimeLabour',
	'unsold'
] as const;
export type MoneyFigure = (typeof MONEY_FIGURES)[number];

const MS_PER_MIN = 60_000;

export interface Spending {
	readonly problem: PlanProblem;
	readonly slots: readonly Slot[];
	/** What of the orders has no slot, for whatever reason. */
	readonly left: readonly Pick<LeftOver, 'kind' | 'lotId' | 'productId' | 'greenG'>[];
	readonly needs: Roastery['needs'];
	readonly products: Roastery['products'];
	readonly week: string;
}

/** Every figure of money of a plan, and what can't be costed. */
export function moneyOf(
	spending: Spending,
	rules: CostRules
): { readonly figures: readonly Figure<MoneyFigure>[]; readonly problems: readonly Problem[] } {
	const { problem } = spending;
	const slots = spending.slots.filter(({ startMs }) => startMs >= problem.fromMs);
	const batches = slots.map((slot) => batchParts(slot, problem.zone, rules));
	const of = (...items: readonly BatchItem[]) =>
		batches.flatMap(({ parts }) =>
			parts.filter(({ item }) => items.includes(item)).map(({ part }) => part)
		);
	const setups = setupParts(slots, problem.zone, rules);
	const found: Readonly<Record<MoneyFigure, readonly Part[]>> = {
		energy: of('gas', 'power'),
		labour: of('labour'),
		machine: of('machine'),
		quality: of('quality'),
		setups,
		running: [...of('gas', 'power', 'labour', 'machine', 'quality'), ...setups],
		staffedLabour: labourParts(problem, rules, (window) => [
			Math.max(window.startMs, problem.fromMs),
			regularEndOf(window)
		]),
		overtimeLabour: labourParts(problem, rules, (window) => {
			const own = slots.filter(
				({ roasterId, startMs, endMs }) =>
					roasterId === window.roasterId && window.startMs <= startMs && endMs <= window.endMs
			);
			return [regularEndOf(window), Math.max(...own.map(({ endMs }) => endMs), 0)];
		}),
		unsold: unsoldParts(spending)
	};
	const missing = new Set(batches.flatMap(({ missing }) => missing ?? []));
	return {
		figures: MONEY_FIGURES.map((name) => ({ name, parts: summed(found[name]) })),
		problems: [...missing].map((roasterId) => ({
			path: rules.roasters.get(roasterId)?.name ?? 'A roaster',
			message: 'No cost rate counts for this week; its batches are in no sum of money.'
		}))
	};
}

function batchParts(slot: Slot, zone: string, rules: CostRules) {
	const { lotId, roasterId, startMs, chargeG, kind } = slot;
	const costed = costWithoutGreen(rules, {
		...{ lotId, roasterId, day: dayOf(startMs, zone), greenG: chargeG },
		...{ isCupped: kind === 'test', energy: undefined }
	});
	if (!costed.ok) return { parts: [], missing: roasterId };
	const parts = costed.cost.lines.map(({ item, money }) => ({
		item,
		part: { of: { kind: 'roaster', roasterId }, value: money.minor } satisfies Part
	}));
	return { parts, missing: null };
}

/** Rule 2. */
function setupParts(slots: readonly Slot[], zone: string, rules: CostRules): Part[] {
	const byDay = Map.groupBy(
		slots.filter(({ setup }) => setup.length > 0),
		({ roasterId, startMs }) => `${roasterId} ${dayOf(startMs, zone)}`
	);
	return [...byDay.values()].map((same): Part => {
		const { roasterId, startMs } = same[0]!;
		const minutes = same.flatMap(({ setup }) => setup).reduce((sum, one) => sum + one.minutes, 0);
		const cost = timeCost(rules, roasterId, dayOf(startMs, zone), minutes);
		return { of: { kind: 'roaster', roasterId }, value: cost.labour + cost.machine };
	});
}

/** Rule 3: labour of a stretch of each window. */
function labourParts(
	{ windows, zone }: PlanProblem,
	rules: CostRules,
	stretch: (window: PlanProblem['windows'][number]) => readonly [number, number]
): Part[] {
	return windows.map((window): Part => {
		const { roasterId, startMs } = window;
		const [fromMs, toMs] = stretch(window);
		const minutes = Math.max(0, toMs - fromMs) / MS_PER_MIN;
		const { labour } = timeCost(rules, roasterId, dayOf(startMs, zone), minutes);
		return { of: { kind: 'roaster', roasterId }, value: labour };
	});
}

/** Labour and machine time of so many minutes, minor units; nothing without a rate. */
function timeCost(
	rules: CostRules,
	roasterId: number,
	day: string,
	minutes: number
): { readonly labour: number; readonly machine: number } {
	const rate = rateOn(rules.rates, roasterId, day);
	if (!rate) return { labour: 0, machine: 0 };
	const none = { wh: 0, perKwhE4: 0, from: 'rate' as const };
	const { lines } = batchCost({
		...{ currency: rules.currency, greenG: 0, landedPerKgE4: 0, gas: none, power: none },
		...{ labourMin: minutes, labourPerHourMinor: rate.labourMinorPerHour },
		...{ machineMin: minutes, machinePerHourMinor: rate.machineMinorPerHour },
		depreciation: {
			costMinor: rate.machineCostMinor,
			residualMinor: rate.machineResidualMinor,
			lifeYears: rate.machineLifeYears,
			hoursPerYear: rate.machineHoursPerYear
		},
		...{ qualityMin: 0, qualityPerHourMinor: 0 }
	});
	const of = (item: BatchItem) => lines.find((line) => line.item === item)!.money.minor;
	return { labour: of('labour'), machine: of('machine') };
}

/** Rule 4: green without a slot, roasted by the loss that its need was reckoned with, at the product's price. */
function unsoldParts({ left, needs, products, week }: Spending): Part[] {
	return left.flatMap(({ kind, lotId, productId, greenG }): Part[] => {
		const need = needs.find(
			(one) => one.week === week && one.lotId === lotId && one.productId === productId
		);
		const product = products.find(({ id }) => id === productId);
		if (kind === 'test' || !need || !product || need.greenG === 0) return [];
		const value = roundProduct(
			[greenG, need.roastedG, product.priceMinorPerKg],
			need.greenG * 1000
		);
		return [{ of: { kind: 'need', lotId, productId }, value }];
	});
}

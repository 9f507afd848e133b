import { priceBasis, type PriceBasis, type RoastingCost } from '#lib/domain/cost/priceBasis.ts';
import { sum, type Money } from '#lib/domain/quantity/money.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { dayOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadReleases } from '../store/lots.ts';
import { loadProductionOf, type Production } from '../store/production.ts';
import { loadProductionEnergy, type EnergyReading } from '../store/costs.ts';
import { loadRecipes, type Recipe } from '../store/tests.ts';
import { costWithoutGreen, loadCostRules, loadLotCosts, type CostRules } from './costing.ts';
import { loadRoastery, type LotFacts } from './roastery.ts';

export interface PriceLotView {
	readonly code: string;
	readonly name: string;
	readonly kind: string;
	/** Net cost of its tests and how many they are. */
	readonly testing: Money;
	readonly tests: number;
	/** Null without price terms. */
	readonly basis: PriceBasis | null;
	/** What the weight loss rests on. */
	readonly lossBecause: string;
	/** Shelf price of the newest release, a kilogram. */
	readonly shelf: Money | null;
	/** Tests of it that can't be costed, or what else is missing. */
	readonly missing: readonly string[];
}

export interface PriceView {
	readonly currency: string;
	readonly lots: readonly PriceLotView[];
}

interface Known extends CostRules {
	readonly zone: string;
	/** By production batch. */
	readonly energy: ReadonlyMap<number | null, EnergyReading>;
	/** Costs worked out before, by roaster, day and charge: most batches are alike. */
	readonly seen: Map<string, Money | null>;
}

/** Cost of a roasted kilogram of every released lot, with testing spread over it and without. */
export async function loadPrice(db: Reader, now: InstantMs): Promise<PriceView> {
	const { site, today, lots } = await loadRoastery(db, now);
	const released = lots.filter(({ standing }) => standing.stage === 'released');
	const ids = released.map(({ lot }) => lot.id);
	const [costs, batches, recipes, releases, rules, energy] = await Promise.all([
		loadLotCosts(db),
		loadProductionOf(db, ids),
		loadRecipes(db, ids),
		loadReleases(db, ids),
		loadCostRules(db, site),
		loadProductionEnergy(db, { lotIds: ids })
	]);
	const { currency } = site;
	const known: Known = {
		...rules,
		zone: site.timeZone,
		energy: new Map(energy.map((reading) => [reading.productionId, reading])),
		seen: new Map()
	};
	const batchesOf = Map.groupBy(batches, ({ lotId }) => lotId);
	return {
		currency,
		lots: released.map(({ lot, loss, events }) => {
			const own = batchesOf.get(lot.id) ?? [];
			const recipe = recipes.find(({ lotId }) => lotId === lot.id);
			const { tests, landed, uncosted } = costs.get(lot.id)!;
			const testing = sum(
				tests.map(({ net }) => net),
				currency
			);
			const roasting = roastedCost(own, known) ?? recipeCost(recipe, loss, today, known);
			const shelf = releases.findLast(({ lotId }) => lotId === lot.id);
			return {
				...{ code: lot.code, name: lot.name, kind: lot.kind, testing, tests: tests.length },
				lossBecause: loss.because,
				shelf: shelf ? { minor: shelf.priceMinorPerKg, currency } : null,
				basis: landed
					? priceBasis({
							...{ currency, roasting, testing },
							landedPerKgE4: landed.perKgE4,
							weightLoss: loss.ratio,
							producedG: own.reduce((all, { outG }) => all + outG, 0),
							onHandG: events.onHandG
						})
					: null,
				missing: [
					...(landed ? [] : ['It has no price terms.']),
					...(roasting ? [] : ['No cost rate is known for its roaster.']),
					...uncosted.map(({ path, message }) => `${path}: ${message}`)
				]
			};
		})
	};
}

/** What the lot's production cost without green; null before the first batch with a rate. */
function roastedCost(batches: readonly Production[], known: Known): RoastingCost | null {
	const costed = batches.flatMap((batch) => {
		const day = dayOf(batch.roastedAt, known.zone);
		const metered = known.energy.get(batch.id);
		const cost = withoutGreen(batch.roasterId, batch.chargeG, day, known, metered);
		return cost ? [{ cost, outG: batch.outG }] : [];
	});
	if (costed.length === 0) return null;
	const count = `${costed.length} ${costed.length === 1 ? 'batch' : 'batches'}`;
	return {
		cost: sum(
			costed.map(({ cost }) => cost),
			known.currency
		),
		roastedG: costed.reduce((all, { outG }) => all + outG, 0),
		from: costed.length === batches.length ? count : `${count} of ${batches.length}`
	};
}

/** Before any production: one batch as the newest recipe says, at today's rates. */
function recipeCost(
	recipe: Recipe | undefined,
	loss: LotFacts['loss'],
	today: string,
	known: Known
): RoastingCost | null {
	if (!recipe) return null;
	const cost = withoutGreen(recipe.roasterId, recipe.chargeG, today, known);
	if (!cost) return null;
	const roastedG = Math.round(recipe.chargeG * (1 - loss.ratio));
	return { cost, roastedG, from: `one batch by recipe ${recipe.version}, none roasted yet,` };
}

/** Energy, labour and machine time of a production batch; it takes no quality time. */
function withoutGreen(
	roasterId: number,
	greenG: number,
	day: string,
	known: Known,
	energy?: EnergyReading
): Money | null {
	const key = `${roasterId} ${day} ${greenG}`;
	const before = energy ? undefined : known.seen.get(key);
	if (before !== undefined) return before;
	const batch = { lotId: 0, roasterId, day, greenG, isCupped: false, energy };
	const costed = costWithoutGreen(known, batch);
	const cost = costed.ok ? costed.cost.total : null;
	if (!energy) known.seen.set(key, cost);
	return cost;
}

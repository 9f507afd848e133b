import { batchCost } from '#lib/domain/cost/batch.ts';
import { priceBasis, type PriceBasis, type RoastingCost } from '#lib/domain/cost/priceBasis.ts';
import { sum, type Money } from '#lib/domain/quantity/money.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { dayOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadReleases } from '../store/lots.ts';
import { loadProduction, type Production } from '../store/production.ts';
import { loadCostRates, loadRoasters, type CostRate, type Roaster } from '../store/site.ts';
import { loadRecipes, type Recipe } from '../store/tests.ts';
import { loadCosting, rateOn } from './costing.ts';
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

interface Rates {
	readonly rates: readonly CostRate[];
	readonly roasters: ReadonlyMap<number, Roaster>;
	readonly zone: string;
	readonly currency: string;
	/** Costs worked out before, by rate and charge: most batches are alike. */
	readonly seen: Map<string, Money>;
}

/** Cost of a roasted kilogram of every released lot, with testing spread over it and without. */
export async function loadPrice(db: Reader, now: InstantMs): Promise<PriceView> {
	const { site, today, lots } = await loadRoastery(db, now);
	const [costing, batches, recipes, releases, rates, roasters] = await Promise.all([
		loadCosting(db, site),
		loadProduction(db, 0, now),
		loadRecipes(db),
		loadReleases(db),
		loadCostRates(db),
		loadRoasters(db)
	]);
	const { currency } = costing;
	const byRoaster = new Map(roasters.map((roaster) => [roaster.id, roaster]));
	const known: Rates = {
		rates,
		roasters: byRoaster,
		zone: site.timeZone,
		currency,
		seen: new Map()
	};
	const batchesOf = Map.groupBy(batches, ({ lotId }) => lotId);
	const released = lots.filter(({ standing }) => standing.stage === 'released');
	return {
		currency,
		lots: released.map(({ lot, loss, events }) => {
			const own = batchesOf.get(lot.id) ?? [];
			const recipe = recipes.find(({ lotId }) => lotId === lot.id);
			const tests = costing.tests.filter(({ lotId }) => lotId === lot.id);
			const testing = sum(
				tests.map(({ net }) => net),
				currency
			);
			const landed = costing.landed.get(lot.id);
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
					...costing.uncosted
						.filter(({ path }) => path.startsWith(`${lot.code}, `))
						.map(({ path, message }) => `${path}: ${message}`)
				]
			};
		})
	};
}

/** What the lot's production cost without green; null before the first batch with a rate. */
function roastedCost(batches: readonly Production[], known: Rates): RoastingCost | null {
	const costed = batches.flatMap((batch) => {
		const day = dayOf(batch.roastedAt, known.zone);
		const cost = withoutGreen(batch.roasterId, batch.chargeG, day, known);
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
	known: Rates
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
	{ rates, roasters, currency, seen }: Rates
): Money | null {
	const rate = rateOn(rates, roasterId, day);
	const roaster = roasters.get(roasterId);
	if (!rate || !roaster) return null;
	const key = `${rate.id} ${greenG}`;
	const cost = seen.get(key) ?? batchOf(rate, roaster, greenG, currency);
	seen.set(key, cost);
	return cost;
}

function batchOf(rate: CostRate, roaster: Roaster, greenG: number, currency: string): Money {
	return batchCost({
		...{ currency, greenG, landedPerKgE4: 0 },
		energyKwh: rate.energyKwhPerBatch + (rate.energyKwhPerKgGreen * greenG) / 1000,
		energyPerKwhE4: rate.energyPriceE4PerKwh,
		labourMin: rate.labourMinPerBatch,
		labourPerHourMinor: rate.labourMinorPerHour,
		machineMin: roaster.cycleMin,
		machinePerHourMinor: rate.machineMinorPerHour,
		qualityMin: 0,
		qualityPerHourMinor: rate.qualityMinorPerHour
	}).total;
}

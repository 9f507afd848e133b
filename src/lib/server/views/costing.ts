import { batchCost, netTestCost, type BatchCost, type EnergyUse } from '#lib/domain/cost/batch.ts';
import { greenValueAt, type LotMonth, type LotValue } from '#lib/domain/cost/greenValue.ts';
import type { LandedCost } from '#lib/domain/cost/landed.ts';
import {
	normalLosses,
	processCost,
	type NormalLoss,
	type ProcessCost
} from '#lib/domain/cost/loss.ts';
import { countedTests, type CountedTest } from '#lib/domain/cost/posting.ts';
import type { RecoveryKind } from '#lib/domain/cost/recovery.ts';
import type { CostedTest } from '#lib/domain/cost/statement.ts';
import { DEFAULT_WEIGHT_LOSS } from '#lib/domain/demand/weightLoss.ts';
import { firstOpenMonth } from '#lib/domain/ledger/period.ts';
import { money, type Money } from '#lib/domain/quantity/money.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { Day, InstantMs } from '#lib/domain/quantity/time.ts';
import { dayOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import {
	loadPostings,
	loadTestEnergy,
	loadTestsToCost,
	type EnergyReading,
	type TestToCost
} from '../store/costs.ts';
import { keepByLot } from '../store/kept.ts';
import { loadClosedMonths, newestRate } from '../store/ledger.ts';
import { loadLots, type Lot } from '../store/lots.ts';
import { loadProducts } from '../store/production.ts';
import {
	loadCostRates,
	loadRoasters,
	requireSite,
	type CostRate,
	type Roaster,
	type Site
} from '../store/site.ts';
import { loadApprovedLosses } from '../store/tests.ts';
import { loadSummedValues } from './greenValue.ts';

/** A batch by process costing: what it is held to, and what came of it. */
export interface BatchLoss extends ProcessCost {
	readonly normal: NormalLoss;
}

/** A costed test with the words it is listed and cut by. */
export interface ListedTest extends CostedTest {
	readonly lotCode: string;
	readonly lotName: string;
	readonly lotKind: string;
	/** ISO 3166-1 alpha-2. */
	readonly country: string;
	/** Empty where nobody named one. */
	readonly supplier: string;
	/** What the test was for. */
	readonly purpose: string;
	readonly number: number;
	readonly roasterId: number;
	readonly roasterName: string;
	readonly roastedAt: InstantMs;
	readonly verdict: string | null;
	/** The batch as it was roasted, also where only a part of it counts in a month. */
	readonly asRoasted: { readonly cost: Money; readonly greenG: number; readonly outG: number };
	/** The day of the roast where it counts in a later month, since its own was closed by then. */
	readonly lateFrom?: Day;
}

export interface Costing {
	readonly currency: string;
	/** By lot id; lots without price terms are not in it. */
	readonly landed: ReadonlyMap<number, LandedCost>;
	readonly tests: readonly ListedTest[];
	/** Roasted tests that can't be costed, and what is missing. */
	readonly uncosted: readonly Problem[];
}

/** What one lot's green and tests cost, from its own records. */
export interface LotCosts {
	/** Null without terms that can be costed; `problem` says why. */
	readonly landed: LandedCost | null;
	readonly problem: Problem | null;
	/** Its stock at the end of each month in which something happened to it. */
	readonly months: readonly LotMonth[];
	/** Whether its stock has a cost now. */
	readonly isCosted: boolean;
	readonly tests: readonly ListedTest[];
	readonly uncosted: readonly Problem[];
}

/** The costs of every lot by lot id, in the order of codes; kept from page to page (store/kept.ts). */
export const loadLotCosts = keepByLot(
	async (db, lotIds) => costLots(db, await requireSite(db), lotIds),
	async (db) => {
		const [site, rates, roasters, products, fx] = await Promise.all([
			requireSite(db),
			loadCostRates(db),
			loadRoasters(db),
			loadProducts(db),
			newestRate(db)
		]);
		const names = products.map(({ id, name }) => [id, name]);
		return JSON.stringify([site, rates, roasters, names, fx]);
	}
);

const flattened = new WeakMap<ReadonlyMap<number, LotCosts>, Costing>();

/** Landed cost of every lot and the cost of every roasted test, from their records. */
export async function loadCosting(db: Reader, site: Site, lotId?: number): Promise<Costing> {
	if (lotId !== undefined) return costingOf(await costLots(db, site, [lotId]), site.currency);
	const costs = await loadLotCosts(db);
	const found = flattened.get(costs) ?? costingOf(costs, site.currency);
	flattened.set(costs, found);
	return found;
}

function costingOf(costs: ReadonlyMap<number, LotCosts>, currency: string): Costing {
	const all = [...costs.values()];
	return {
		currency,
		landed: new Map(
			[...costs].flatMap(([id, { landed }]) => (landed ? [[id, landed] as const] : []))
		),
		// Lots in the order in which they were entered.
		tests: all.flatMap(({ tests }) => tests).sort((a, b) => a.lotId - b.lotId),
		uncosted: all.flatMap(({ uncosted }) => uncosted)
	};
}

async function costLots(
	db: Reader,
	site: Site,
	lotIds: readonly number[]
): Promise<Map<number, LotCosts>> {
	const [lots, products, tests, energy, values, rates, roasters] = await Promise.all([
		loadLots(db, lotIds),
		loadProducts(db),
		loadTestsToCost(db, lotIds),
		loadTestEnergy(db, lotIds),
		loadSummedValues(db, site, lotIds),
		loadCostRates(db),
		loadRoasters(db)
	]);
	const rules: CostRules = {
		...{ currency: site.currency, rates, roasters: new Map(roasters.map((r) => [r.id, r])) },
		greenPerKgE4: ({ lotId, roastedAt }) => bookPerKgE4(values.get(lotId)?.value, roastedAt)
	};
	const energyOf = new Map(energy.map((reading) => [reading.testBatchId, reading]));
	const productNames = new Map(products.map(({ id, name }) => [id, name]));
	const testsOf = Map.groupBy(tests, ({ lotId }) => lotId);
	return new Map(
		lots.map((lot): [number, LotCosts] => {
			const { value, months } = values.get(lot.id)!;
			const uncosted: Problem[] = [];
			const costed = (testsOf.get(lot.id) ?? []).flatMap((test): ListedTest[] => {
				const day = dayOf(test.roastedAt, site.timeZone);
				const batch = costBatch(rules, {
					...{ lotId: lot.id, roasterId: test.roasterId, day, roastedAt: test.roastedAt },
					...{ greenG: test.chargeG, isCupped: test.isCupped, energy: energyOf.get(test.id) }
				});
				if (batch.ok) return [listed(test, lot, day, batch.cost, productNames)];
				uncosted.push({
					path: `${lot.code}, test ${test.number}`,
					message:
						batch.missing === 'rate'
							? `No cost rate of ${test.roasterName} is on or before ${day}; add one in Setup.`
							: (value.problem?.message ?? 'The lot has no price terms; record them on its page.')
				});
				return [];
			});
			return [
				lot.id,
				{
					...{ landed: value.landed, problem: value.problem, months, uncosted },
					isCosted: value.steps.at(-1)?.isCosted ?? false,
					tests: costed
				}
			];
		})
	);
}

/** By the books of a moment; by what the lot was expected to cost where those had nothing yet. */
function bookPerKgE4(value: LotValue | undefined, at: InstantMs | undefined): number | null {
	if (!value) return null;
	if (at === undefined) return value.landed?.perKgE4 ?? null;
	const price = greenValueAt(value, at, 'book') ?? greenValueAt(value, at, 'plan');
	return price?.perKgE4 ?? null;
}

const countedKept = new WeakMap<
	readonly ListedTest[],
	{ readonly key: string; readonly counted: CountedTest<ListedTest>[] }
>();

/** The tests of a costing as the months count them; months before `openFrom` as they were closed. */
export async function loadCounted(
	db: Reader,
	tests: readonly ListedTest[]
): Promise<{ counted: CountedTest<ListedTest>[]; openFrom: string | null }> {
	const closed = await loadClosedMonths(db);
	const openFrom = firstOpenMonth(closed);
	// Postings are written when a month is closed and never change.
	const key = closed.join();
	const had = countedKept.get(tests);
	if (had?.key === key) return { counted: had.counted, openFrom };
	const counted = countedTests(tests, await loadPostings(db), openFrom);
	countedKept.set(tests, { key, counted });
	return { counted, openFrom };
}

/** What any batch is costed by: the one place where green, rates and machines meet. */
export interface CostRules {
	readonly currency: string;
	/** What a green kilogram of a batch costs; null where nothing tells it. */
	readonly greenPerKgE4: (batch: RoastedBatch) => number | null;
	readonly rates: readonly CostRate[];
	readonly roasters: ReadonlyMap<number, Roaster>;
}

/** Loads what batches are costed by, green by what the whole lot costs as known now. */
export async function loadCostRules(db: Reader, site: Site): Promise<CostRules> {
	const [{ landed }, rates, roasters] = await Promise.all([
		loadCosting(db, site),
		loadCostRates(db),
		loadRoasters(db)
	]);
	return {
		...{ currency: site.currency, rates },
		greenPerKgE4: ({ lotId }) => landed.get(lotId)?.perKgE4 ?? null,
		roasters: new Map(roasters.map((roaster) => [roaster.id, roaster]))
	};
}

/** A batch as it was roasted, production or test. */
export interface RoastedBatch {
	readonly lotId: number;
	readonly roasterId: number;
	/** In the site's zone. */
	readonly day: Day;
	/** When its green left the stock; tests cost what the books of that moment say. */
	readonly roastedAt?: InstantMs;
	readonly greenG: number;
	/** Whether people cupped it for a verdict: only tests are. */
	readonly isCupped: boolean;
	/** Undefined where no meter was read. */
	readonly energy: Pick<EnergyReading, 'gasWh' | 'powerWh'> | undefined;
}

/** The cost of a batch, or what is missing to tell it. */
export type BatchOutcome =
	| { readonly ok: true; readonly cost: BatchCost }
	| { readonly ok: false; readonly missing: 'rate' | 'green' };

/** Costs a batch at the rate of its day and the green cost of its lot. */
export function costBatch(known: CostRules, batch: RoastedBatch): BatchOutcome {
	const perKgE4 = known.greenPerKgE4(batch);
	return perKgE4 === null ? { ok: false, missing: 'green' } : costWith(known, batch, perKgE4);
}

/** The same without green coffee, for lots whose green is costed apart. */
export function costWithoutGreen(known: CostRules, batch: RoastedBatch): BatchOutcome {
	return costWith(known, batch, 0);
}

function costWith(known: CostRules, batch: RoastedBatch, landedPerKgE4: number): BatchOutcome {
	const { roasterId, day, greenG, isCupped, energy } = batch;
	const rate = rateOn(known.rates, roasterId, day);
	const roaster = known.roasters.get(roasterId);
	if (!rate || !roaster) return { ok: false, missing: 'rate' };
	const cost = batchCost({
		...{ currency: known.currency, greenG, landedPerKgE4 },
		gas: energyUse(
			energy?.gasWh,
			rate.energyKwhPerBatch,
			rate.energyKwhPerKgGreen,
			rate.energyPriceE4PerKwh,
			greenG
		),
		power: energyUse(
			energy?.powerWh,
			rate.powerKwhPerBatch,
			rate.powerKwhPerKgGreen,
			rate.powerPriceE4PerKwh,
			greenG
		),
		labourMin: rate.labourMinPerBatch,
		labourPerHourMinor: rate.labourMinorPerHour,
		machineMin: roaster.cycleMin,
		machinePerHourMinor: rate.machineMinorPerHour,
		depreciation: {
			costMinor: rate.machineCostMinor,
			residualMinor: rate.machineResidualMinor,
			lifeYears: rate.machineLifeYears,
			hoursPerYear: rate.machineHoursPerYear
		},
		qualityMin: isCupped ? rate.qualityMinPerTest : 0,
		qualityPerHourMinor: rate.qualityMinorPerHour
	});
	return { ok: true, cost };
}

function energyUse(
	meteredWh: number | null | undefined,
	kwhPerBatch: number,
	kwhPerKgGreen: number,
	perKwhE4: number,
	greenG: number
): EnergyUse {
	if (meteredWh !== null && meteredWh !== undefined)
		return { wh: meteredWh, perKwhE4, from: 'meter' };
	return { wh: Math.round(kwhPerBatch * 1000 + kwhPerKgGreen * greenG), perKwhE4, from: 'rate' };
}

/** The rate of a roaster that applies on a day: the latest not after it. */
export function rateOn(
	rates: readonly CostRate[],
	roasterId: number,
	day: string
): CostRate | undefined {
	return rates.findLast((rate) => rate.roasterId === roasterId && rate.fromDay <= day);
}

/** The loss that a roast of a lot is held to, by the recipes approved by then. */
export type NormalLossOf = (lotId: number, kind: string, at: InstantMs) => NormalLoss;

/** Loads what roasts are held to. */
export async function loadNormalLosses(db: Reader): Promise<NormalLossOf> {
	return normalLosses(await loadApprovedLosses(db), Math.round(DEFAULT_WEIGHT_LOSS * 1_000_000));
}

/** A costed test by process costing. */
export function testLoss(test: ListedTest, lossOf: NormalLossOf): BatchLoss {
	return batchLoss(lossOf(test.lotId, test.lotKind, test.roastedAt), test.asRoasted);
}

/** A batch by process costing. What a roast loses is steam and chaff: it is sold for nothing. */
export function batchLoss(
	normal: NormalLoss,
	batch: { readonly cost: Money; readonly greenG: number; readonly outG: number }
): BatchLoss {
	const process = processCost({
		...{ inputG: batch.greenG, outputG: batch.outG, cost: batch.cost },
		...{ normalLossPpm: normal.ppm, scrapPerKgE4: 0 }
	});
	return { ...process, normal };
}

function listed(
	test: TestToCost,
	lot: Lot,
	day: string,
	batch: BatchCost,
	productNames: ReadonlyMap<number, string>
): ListedTest {
	const currency = batch.total.currency;
	const net = netTestCost(
		batch,
		test.recoveries.map((r) => ({
			kind: r.kind as RecoveryKind,
			massG: r.massG,
			value: money(r.valueMinor, currency),
			product: r.productId === null ? null : (productNames.get(r.productId) ?? null)
		}))
	);
	return {
		...net,
		...{ testId: test.id, lotId: lot.id, day, roastedAt: test.roastedAt, roastedG: test.outG },
		...{ lotCode: lot.code, lotName: lot.name, lotKind: lot.kind, country: lot.country },
		...{ supplier: lot.supplier, purpose: test.purpose, number: test.number },
		asRoasted: { cost: batch.total, greenG: test.chargeG, outG: test.outG },
		...{ roasterId: test.roasterId, roasterName: test.roasterName, verdict: test.verdict }
	};
}

import { batchCost, netTestCost, type BatchCost, type EnergyUse } from '#lib/domain/cost/batch.ts';
import { greenValueAt, type LotValue } from '#lib/domain/cost/greenValue.ts';
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
import { loadEnergyReadings, loadPostings, type EnergyReading } from '../store/costs.ts';
import { loadClosedMonths } from '../store/ledger.ts';
import { loadLots, type Lot } from '../store/lots.ts';
import { loadProducts } from '../store/production.ts';
import {
	loadCostRates,
	loadRoasters,
	type CostRate,
	type Roaster,
	type Site
} from '../store/site.ts';
import { loadRecipes, loadTests, type Recipe, type TestRecord } from '../store/tests.ts';
import { loadLotValues } from './greenValue.ts';

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
	readonly loss: BatchLoss;
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

/** Landed cost of every lot and the cost of every roasted test, from their records. */
export async function loadCosting(db: Reader, site: Site, lotId?: number): Promise<Costing> {
	const [known, lots, products, recipes, tests, energy] = await Promise.all([
		loadCostRules(db, site, lotId),
		loadLots(db),
		loadProducts(db),
		loadRecipes(db),
		loadTests(db, lotId === undefined ? {} : { lotId }),
		loadEnergyReadings(db)
	]);
	const lotById = new Map(lots.map((lot) => [lot.id, lot]));
	const energyOf = new Map(energy.map((reading) => [reading.testBatchId, reading]));
	const productNames = new Map(products.map(({ id, name }) => [id, name]));
	const lossOf = normalLossOf(recipes, lotById);
	const uncosted: Problem[] = [];
	const costed = tests.flatMap((test): ListedTest[] => {
		if (!test.roast) return [];
		const lot = lotById.get(test.batch.lotId)!;
		const day = dayOf(test.roast.roastedAt, site.timeZone);
		const batch = costBatch(known, {
			...{ lotId: lot.id, roasterId: test.batch.roasterId, day },
			roastedAt: test.roast.roastedAt,
			greenG: test.roast.chargeG,
			isCupped: test.cuppings.length > 0,
			energy: energyOf.get(test.batch.id)
		});
		if (!batch.ok) {
			const roaster = known.roasters.get(test.batch.roasterId)!.name;
			uncosted.push({
				path: `${lot.code}, test ${test.batch.number}`,
				message:
					batch.missing === 'rate'
						? `No cost rate of ${roaster} is on or before ${day}; add one in Setup.`
						: (known.green.get(lot.id)?.problem?.message ??
							'The lot has no price terms; record them on its page.')
			});
			return [];
		}
		return [listed(test, lot, day, batch.cost, productNames, lossOf)];
	});
	return { currency: site.currency, landed: known.landed, tests: costed, uncosted };
}

/** The tests of a costing as the months count them; months before `openFrom` as they were closed. */
export async function loadCounted(
	db: Reader,
	tests: readonly ListedTest[]
): Promise<{ counted: CountedTest<ListedTest>[]; openFrom: string | null }> {
	const [postings, closed] = await Promise.all([loadPostings(db), loadClosedMonths(db)]);
	const openFrom = firstOpenMonth(closed);
	return { counted: countedTests(tests, postings, openFrom), openFrom };
}

/** What any batch is costed by: the one place where green, rates and machines meet. */
export interface CostRules {
	readonly currency: string;
	/** By lot id: what its green costs at every moment, and its landed cost as known now. */
	readonly green: ReadonlyMap<number, LotValue>;
	readonly landed: ReadonlyMap<number, LandedCost>;
	readonly rates: readonly CostRate[];
	readonly roasters: ReadonlyMap<number, Roaster>;
}

/** Loads what batches are costed by; of one lot's green where `lotId` is given. */
export async function loadCostRules(db: Reader, site: Site, lotId?: number): Promise<CostRules> {
	const [green, rates, roasters] = await Promise.all([
		loadLotValues(db, site, lotId),
		loadCostRates(db),
		loadRoasters(db)
	]);
	return {
		currency: site.currency,
		green,
		landed: landedByLot(green),
		rates,
		roasters: new Map(roasters.map((roaster) => [roaster.id, roaster]))
	};
}

/** A batch as it was roasted, production or test. */
export interface RoastedBatch {
	readonly lotId: number;
	readonly roasterId: number;
	/** In the site's zone. */
	readonly day: Day;
	/** When its green left the stock; left out, it costs what the whole lot does as known now. */
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
	const perKgE4 = greenPerKgE4(known, batch);
	return perKgE4 === null ? { ok: false, missing: 'green' } : costWith(known, batch, perKgE4);
}

/** By the books of its moment; by what the lot was expected to cost where those had nothing yet. */
function greenPerKgE4(known: CostRules, { lotId, roastedAt }: RoastedBatch): number | null {
	const value = known.green.get(lotId);
	if (!value) return null;
	if (roastedAt === undefined) return value.landed?.perKgE4 ?? null;
	const price = greenValueAt(value, roastedAt, 'book') ?? greenValueAt(value, roastedAt, 'plan');
	return price?.perKgE4 ?? null;
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

function landedByLot(green: ReadonlyMap<number, LotValue>): Map<number, LandedCost> {
	return new Map([...green].flatMap(([id, { landed }]) => (landed ? [[id, landed] as const] : [])));
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
export function normalLossOf(recipes: readonly Recipe[], lots: ReadonlyMap<number, Lot>) {
	const approved = recipes.map(({ lotId, approvedAt, weightLossPpm, version }) => ({
		...{ lotId, approvedAt, weightLossPpm, version },
		kind: lots.get(lotId)?.kind ?? ''
	}));
	const of = normalLosses(approved, Math.round(DEFAULT_WEIGHT_LOSS * 1_000_000));
	return (lotId: number, at: InstantMs) => of(lotId, lots.get(lotId)?.kind ?? '', at);
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
	test: TestRecord,
	lot: Lot,
	day: string,
	batch: BatchCost,
	productNames: ReadonlyMap<number, string>,
	lossOf: ReturnType<typeof normalLossOf>
): ListedTest {
	const { roastedAt, chargeG, outG } = test.roast!;
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
		testId: test.batch.id,
		lotId: lot.id,
		...{ day, roastedAt, roastedG: outG },
		lotCode: lot.code,
		lotName: lot.name,
		lotKind: lot.kind,
		country: lot.country,
		supplier: lot.supplier,
		purpose: test.batch.purpose,
		number: test.batch.number,
		roasterId: test.batch.roasterId,
		roasterName: test.roasterName,
		verdict: test.verdict?.verdict ?? null,
		loss: batchLoss(lossOf(lot.id, roastedAt), { cost: batch.total, greenG: chargeG, outG })
	};
}

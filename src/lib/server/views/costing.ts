import { batchCost, netTestCost } from '#lib/domain/cost/batch.ts';
import { landedCost, type LandedCost } from '#lib/domain/cost/landed.ts';
import type { RecoveryKind } from '#lib/domain/cost/recovery.ts';
import type { CostedTest } from '#lib/domain/cost/statement.ts';
import type { PriceTerms } from '#lib/domain/cost/terms.ts';
import { money } from '#lib/domain/quantity/money.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import { dayOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import {
	loadLots,
	loadPriceTerms,
	loadReceivedG,
	type Lot,
	type PriceTermsRow
} from '../store/lots.ts';
import {
	loadCostRates,
	loadRoasters,
	type CostRate,
	type Roaster,
	type Site
} from '../store/site.ts';
import { loadTests, type TestRecord } from '../store/tests.ts';

/** A costed test with the words it is listed and cut by. */
export interface ListedTest extends CostedTest {
	readonly lotCode: string;
	readonly lotName: string;
	readonly lotKind: string;
	readonly number: number;
	readonly roasterName: string;
	readonly verdict: string | null;
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
	const [lots, terms, received, rates, roasters, tests] = await Promise.all([
		loadLots(db),
		loadPriceTerms(db, lotId),
		loadReceivedG(db),
		loadCostRates(db),
		loadRoasters(db),
		loadTests(db, lotId === undefined ? {} : { lotId })
	]);
	const lotById = new Map(lots.map((lot) => [lot.id, lot]));
	const landed = landedByLot(lotById, terms, received, site.currency);
	const roasterById = new Map(roasters.map((roaster) => [roaster.id, roaster]));
	const uncosted: Problem[] = [];
	const costed = tests.flatMap((test): ListedTest[] => {
		if (!test.roast) return [];
		const lot = lotById.get(test.batch.lotId)!;
		const roaster = roasterById.get(test.batch.roasterId)!;
		const day = dayOf(test.roast.roastedAt, site.timeZone);
		const rate = rateOn(rates, roaster.id, day);
		const cost = landed.get(lot.id);
		if (!rate || !cost) {
			uncosted.push({
				path: `${lot.code}, test ${test.batch.number}`,
				message: cost
					? `No cost rate of ${roaster.name} is on or before ${day}; add one in Setup.`
					: 'The lot has no price terms; record them on its page.'
			});
			return [];
		}
		return [listed(test, lot, roaster, day, costOf(test, roaster, rate, cost, site))];
	});
	return { currency: site.currency, landed, tests: costed, uncosted };
}

function landedByLot(
	lots: ReadonlyMap<number, Lot>,
	terms: readonly PriceTermsRow[],
	received: ReadonlyMap<number, number>,
	currency: string
): Map<number, LandedCost> {
	const landed = new Map<number, LandedCost>();
	for (const row of terms) {
		const lot = lots.get(row.lotId);
		if (!lot || landed.has(row.lotId)) continue;
		const massG = received.get(lot.id) ?? lot.bagG * lot.bagsExpected;
		if (massG > 0) landed.set(lot.id, landedCost(termsOf(row, lot.bagG), massG, { currency }));
	}
	return landed;
}

/** Price terms as the cost rules take them. */
export function termsOf(row: PriceTermsRow, bagG: number): PriceTerms {
	return { ...row, bagG } as PriceTermsRow & PriceTerms;
}

/** The rate of a roaster that applies on a day: the latest not after it. */
export function rateOn(
	rates: readonly CostRate[],
	roasterId: number,
	day: string
): CostRate | undefined {
	return rates.findLast((rate) => rate.roasterId === roasterId && rate.fromDay <= day);
}

function costOf(
	test: TestRecord,
	roaster: Roaster,
	rate: CostRate,
	landed: LandedCost,
	site: Site
) {
	const greenG = test.roast!.chargeG;
	const batch = batchCost({
		currency: site.currency,
		greenG,
		landedPerKgE4: landed.perKgE4,
		energyKwh: rate.energyKwhPerBatch + (rate.energyKwhPerKgGreen * greenG) / 1000,
		energyPerKwhE4: rate.energyPriceE4PerKwh,
		labourMin: rate.labourMinPerBatch,
		labourPerHourMinor: rate.labourMinorPerHour,
		machineMin: roaster.cycleMin,
		machinePerHourMinor: rate.machineMinorPerHour,
		qualityMin: test.cuppings.length > 0 ? rate.qualityMinPerTest : 0,
		qualityPerHourMinor: rate.qualityMinorPerHour
	});
	return netTestCost(
		batch,
		test.recoveries.map((r) => ({
			kind: r.kind as RecoveryKind,
			massG: r.massG,
			value: money(r.valueMinor, site.currency)
		}))
	);
}

function listed(
	test: TestRecord,
	lot: Lot,
	roaster: Roaster,
	day: string,
	cost: ReturnType<typeof netTestCost>
): ListedTest {
	return {
		...cost,
		testId: test.batch.id,
		lotId: lot.id,
		day,
		lotCode: lot.code,
		lotName: lot.name,
		lotKind: lot.kind,
		number: test.batch.number,
		roasterName: roaster.name,
		verdict: test.verdict?.verdict ?? null
	};
}

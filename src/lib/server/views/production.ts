import {
	BATCH_ITEMS,
	workedLines,
	type BatchCost,
	type BatchItem
} from '#lib/domain/cost/batch.ts';
import { daysOfPeriod, isPeriod } from '#lib/domain/cost/budget.ts';
import { money, type Money } from '#lib/domain/quantity/money.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { addDays, dayOf, instantAt, monthOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadProductionEnergy } from '../store/costs.ts';
import { loadLotRecords } from '../store/lotRecords.ts';
import type { Lot } from '../store/lots.ts';
import { loadProducts, loadProduction, type Production } from '../store/production.ts';
import { requireSite, type Roaster } from '../store/site.ts';
import {
	batchLoss,
	costBatch,
	loadCostRules,
	loadNormalLosses,
	type BatchLoss
} from './costing.ts';
import { momentOf, type Moment } from './moment.ts';

export interface ProductionQuestion {
	/** A month; null for the running one. */
	readonly month: string | null;
	/** A lot's code; null for all lots. */
	readonly lot: string | null;
	/** From 1. */
	readonly page: number;
}

/** A production batch with its cost and its loss by process costing. */
export interface ProducedBatch {
	readonly id: number;
	readonly at: Moment;
	readonly lotCode: string;
	readonly productCode: string;
	readonly roasterCode: string;
	readonly greenG: number;
	readonly outG: number;
	readonly byItem: { readonly [item in BatchItem]: Money };
	readonly cost: Money;
	readonly loss: BatchLoss;
	readonly howWorked: readonly string[];
}

export interface ProducedSums {
	readonly batches: number;
	readonly greenG: number;
	readonly outG: number;
	readonly byItem: { readonly [item in BatchItem]: Money };
	readonly cost: Money;
	/** Loss beyond the normal one less what was gained against it. */
	readonly abnormalG: number;
	readonly abnormal: Money;
}

export interface ProductionView {
	readonly currency: string;
	readonly month: string;
	readonly earlier: string;
	/** Null in the running month. */
	readonly later: string | null;
	readonly lot: string | null;
	readonly batches: readonly ProducedBatch[];
	readonly page: number;
	readonly pageSize: number;
	readonly total: ProducedSums;
	/** What can't be costed, each reason once. */
	readonly uncosted: readonly Problem[];
}

const PAGE_SIZE = 100;

/** A batch with its cost, before it is put into words. */
interface CostedBatch {
	readonly row: Production;
	readonly lot: Lot;
	readonly roaster: Roaster;
	readonly batch: BatchCost;
	readonly loss: BatchLoss;
}

/** Production batches of a month with what each cost, newest first. */
export async function loadProductionCosts(
	db: Reader,
	now: InstantMs,
	question: ProductionQuestion
): Promise<ProductionView> {
	const site = await requireSite(db);
	const zone = site.timeZone;
	const running = monthOf(dayOf(now, zone));
	const month = question.month !== null && isPeriod(question.month) ? question.month : running;
	const { from, to } = daysOfPeriod(month);
	const fromMs = instantAt(from, 0, zone);
	const toMs = instantAt(addDays(to, 1), 0, zone) - 1;
	const [rules, records, products, lossOf, energy, rows] = await Promise.all([
		loadCostRules(db, site),
		loadLotRecords(db),
		loadProducts(db),
		loadNormalLosses(db),
		loadProductionEnergy(db, { fromMs, toMs }),
		loadProduction(db, fromMs, toMs)
	]);
	const lotOf = (id: number) => records.get(id)!.lot;
	const productById = new Map(products.map((product) => [product.id, product]));
	const metered = new Map(energy.map((reading) => [reading.productionId, reading]));
	const uncosted = new Map<string, Problem>();
	const cost = (row: Production): CostedBatch[] => {
		const lot = lotOf(row.lotId);
		const roaster = rules.roasters.get(row.roasterId)!;
		const costed = costBatch(rules, {
			...{ lotId: row.lotId, roasterId: row.roasterId, greenG: row.chargeG },
			...{ day: dayOf(row.roastedAt, zone), isCupped: false, energy: metered.get(row.id) }
		});
		if (!costed.ok) {
			const path = costed.missing === 'green' ? lot.code : roaster.name;
			const message =
				costed.missing === 'green'
					? 'The lot has no price terms; record them on its page.'
					: 'No cost rate is on or before some of its batches; add one in Setup.';
			uncosted.set(path, { path, message });
			return [];
		}
		const loss = batchLoss(lossOf(row.lotId, lot.kind, row.roastedAt), {
			...{ cost: costed.cost.total, greenG: row.chargeG, outG: row.outG }
		});
		return [{ row, lot, roaster, batch: costed.cost, loss }];
	};
	const shown = ({ row, lot, roaster, batch, loss }: CostedBatch): ProducedBatch => ({
		id: row.id,
		at: momentOf(row.roastedAt, zone),
		lotCode: lot.code,
		productCode: productById.get(row.productId)?.code ?? '',
		roasterCode: roaster.code,
		...{ greenG: row.chargeG, outG: row.outG, cost: batch.total, loss },
		byItem: Object.fromEntries(batch.lines.map((line) => [line.item, line.money])) as Record<
			BatchItem,
			Money
		>,
		howWorked: workedLines(batch).map((line) => `${line.label}: ${line.howWorked}`)
	});
	const asked = rows.filter(
		(row) => question.lot === null || lotOf(row.lotId).code === question.lot
	);
	const batches = asked.toReversed().flatMap(cost);
	const pages = Math.max(1, Math.ceil(batches.length / PAGE_SIZE));
	const page = Math.min(Math.max(1, question.page), pages);
	return {
		...{ currency: site.currency, month, lot: question.lot, page, pageSize: PAGE_SIZE },
		earlier: monthOf(addDays(from, -1)),
		later: month < running ? monthOf(addDays(to, 1)) : null,
		batches: batches.slice((page - 1) * PAGE_SIZE, page * PAGE_SIZE).map(shown),
		total: sumsOf(batches, site.currency),
		uncosted: [...uncosted.values()]
	};
}

function sumsOf(batches: readonly CostedBatch[], currency: string): ProducedSums {
	const total = (of: (batch: CostedBatch) => number) =>
		batches.reduce((all, batch) => all + of(batch), 0);
	const ofItem = (item: BatchItem) =>
		total(({ batch }) => batch.lines.find((line) => line.item === item)!.money.minor);
	return {
		batches: batches.length,
		greenG: total(({ row }) => row.chargeG),
		outG: total(({ row }) => row.outG),
		byItem: Object.fromEntries(
			BATCH_ITEMS.map((item) => [item, money(ofItem(item), currency)])
		) as Record<BatchItem, Money>,
		cost: money(
			total(({ batch }) => batch.total.minor),
			currency
		),
		abnormalG: total(({ loss }) => loss.abnormalG),
		abnormal: money(
			total(({ loss }) => loss.abnormal.minor),
			currency
		)
	};
}

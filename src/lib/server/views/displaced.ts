import {
	displacedByTests,
	USUAL_WEEKS,
	type Displaced,
	type DisplacedWeek,
	type WeekMade
} from '#lib/domain/cost/displaced.ts';
import type { Day, InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import { addWeeks, dayOf, daysOfWeek, startOfWeek, weekOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadMadeBetween, type MadeBetween } from '../store/costs.ts';
import { loadDemand, loadProducts } from '../store/production.ts';
import type { Site } from '../store/site.ts';
import { costBatch, loadCostRules, type CostRules, type ListedTest } from './costing.ts';
import { testHref } from './tests.ts';

export interface DisplacedWeekView extends DisplacedWeek {
	readonly roasterName: string;
	readonly testIds: readonly number[];
	readonly tests: readonly { readonly label: string; readonly href: string }[];
}

/** What these tests kept off the roasters, by the orders and the production of their weeks. */
export async function loadDisplaced(
	db: Reader,
	site: Site,
	now: InstantMs,
	tests: readonly ListedTest[]
): Promise<{
	tests: ReadonlyMap<number, Displaced>;
	weeks: readonly DisplacedWeekView[];
}> {
	if (tests.length === 0) return { tests: new Map(), weeks: [] };
	const zone = site.timeZone;
	const runningWeek = weekOf(dayOf(now, zone));
	const weeks = weeksFrom(addWeeks(weekOf(firstDay(tests)), -USUAL_WEEKS), runningWeek);
	const bounds = weeks.map((week) => startOfWeek(week, zone));
	const [made, orders, products, rules] = await Promise.all([
		loadMadeBetween(db, bounds),
		loadDemand(db, weeks[0]!),
		loadProducts(db),
		loadCostRules(db, site)
	]);
	const slots = tests.map((test) => ({
		...{ testId: test.testId, week: weekOf(test.day), roasterId: test.roasterId },
		machineS: test.batch.machineS
	}));
	const found = displacedByTests({
		...{ currency: site.currency, tests: slots, orders, runningWeek },
		made: summedByProduct(made.flatMap((row) => weekMade(row, weeks[row.span]!, rules))),
		products: new Map(
			products.map(({ id, code, priceMinorPerKg }) => [id, { code, priceMinor: priceMinorPerKg }])
		),
		roasters: rules.roasters
	});
	const inWeek = Map.groupBy(tests, (test) => `${weekOf(test.day)} ${test.roasterId}`);
	return {
		tests: found.tests,
		weeks: found.weeks.map((week) => {
			const own = inWeek.get(`${week.week} ${week.roasterId}`) ?? [];
			return {
				...week,
				roasterName: rules.roasters.get(week.roasterId)!.name,
				testIds: own.map(({ testId }) => testId),
				tests: own.map(({ lotCode, number }) => ({
					label: `${lotCode} test ${number}`,
					href: testHref(lotCode, number)
				}))
			};
		})
	};
}

/** Lots of a product on a roaster in a week together: ten years have hundreds of lots a week. */
function summedByProduct(made: readonly WeekMade[]): WeekMade[] {
	const sums = new Map<string, WeekMade>();
	for (const row of made) {
		const key = `${row.week} ${row.productId} ${row.roasterId}`;
		const had = sums.get(key);
		sums.set(key, {
			...row,
			batches: row.batches + (had?.batches ?? 0),
			greenG: row.greenG + (had?.greenG ?? 0),
			outG: row.outG + (had?.outG ?? 0),
			spentMinor: row.spentMinor + (had?.spentMinor ?? 0)
		});
	}
	return [...sums.values()];
}

function firstDay(tests: readonly ListedTest[]): Day {
	return tests.reduce((first, { day }) => (day < first ? day : first), tests[0]!.day);
}

/** From one week to another, both included. */
function weeksFrom(first: IsoWeek, last: IsoWeek): IsoWeek[] {
	const weeks: IsoWeek[] = [];
	for (let week = first; week <= last; week = addWeeks(week, 1)) weeks.push(week);
	return weeks;
}

/**
 * Green, gas and power of a week's batches, by the mean batch at the rates of its Monday; none where they
 * can't be costed.
 */
function weekMade(row: MadeBetween, week: IsoWeek, rules: CostRules): WeekMade[] {
	const costed = costBatch(rules, {
		...{ lotId: row.lotId, roasterId: row.roasterId, day: daysOfWeek(week)[0]! },
		greenG: Math.round(row.greenG / row.batches),
		...{ isCupped: false, energy: undefined }
	});
	if (!costed.ok) return [];
	const used = costed.cost.lines.filter(
		({ item }) => item === 'green' || item === 'gas' || item === 'power'
	);
	return [
		{
			...{ week, productId: row.productId, roasterId: row.roasterId },
			...{ batches: row.batches, greenG: row.greenG, outG: row.outG },
			spentMinor: row.batches * used.reduce((all, { money }) => all + money.minor, 0)
		}
	];
}

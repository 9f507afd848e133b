import { BATCH_ITEMS } from '#lib/domain/cost/batch.ts';
import { formatTrimmed } from '#lib/domain/quantity/decimal.ts';
import { loadCosting, loadNormalLosses } from '../costing.ts';
import { loadLanded, testView } from '../cost.ts';
import { loadRoastery } from '../roastery.ts';
import { hours, kg, local, minor, real, scaled } from './cell.ts';
import { plainTable, type ExportSource, type ExportTable } from './table.ts';

/** What is worked out from the records: costs, and where each lot stands. */

export async function testCostsTable({ db, site }: ExportSource): Promise<ExportTable> {
	const [{ currency, tests }, lossOf] = await Promise.all([
		loadCosting(db, site),
		loadNormalLosses(db)
	]);
	const amount = (value: { readonly minor: number }) => minor(value.minor, currency);
	return plainTable(
		[
			...['lot', 'test', 'roasted_on', 'month', 'kind', 'roaster', 'verdict', 'green_kg'],
			...['roaster_hours', 'currency', ...BATCH_ITEMS, 'cost', 'recovered', 'net', 'how_worked']
		],
		tests
			.map((test) => testView(test, lossOf))
			.map((test) => [
				test.lotCode,
				real(test.number),
				test.day,
				test.day.slice(0, 7),
				test.lotKind,
				test.roasterName,
				test.verdict,
				kg(test.greenG),
				hours(test.machineS),
				currency,
				...BATCH_ITEMS.map((item) => amount(test.byItem[item])),
				amount(test.cost),
				amount(test.recovered),
				amount(test.net),
				test.howWorked
			])
	);
}

export async function landedCostsTable({ db }: ExportSource): Promise<ExportTable> {
	const { currency, lots } = await loadLanded(db);
	const ITEMS = ['goods', 'freight', 'insurance', 'duty', 'port', 'warehouse', 'finance'];
	return plainTable(
		['lot', 'name', 'kind', 'mass_kg', 'currency', 'per_kg', 'total', ...ITEMS],
		lots.map(({ code, name, kind, cost }) => [
			...[code, name, kind],
			kg(cost?.receivedG ?? null),
			currency,
			scaled(cost?.perKgE4 ?? null, 4),
			minor(cost?.total.minor ?? null, currency),
			...ITEMS.map((item) =>
				minor(cost?.lines.find((line) => line.item === item)?.money.minor ?? null, currency)
			)
		])
	);
}

/** Where each lot stands at the moment of the export. */
export async function standingTable({ db, now, zone }: ExportSource): Promise<ExportTable> {
	const { lots } = await loadRoastery(db, now);
	return plainTable(
		[
			...['lot', 'name', 'kind', 'stage', 'since', 'because', 'next_step', 'days_in_stage'],
			...['tests_roasted', 'tests_waiting', 'tests_to_come_mean', 'on_hand_kg', 'runs_out_on'],
			...['release_by', 'weight_loss_pct', 'weight_loss_basis']
		],
		lots.map((facts) => [
			facts.lot.code,
			facts.lot.name,
			facts.lot.kind,
			facts.standing.stage,
			local(facts.standing.since, zone),
			facts.standing.because,
			facts.standing.nextStep,
			real(facts.daysInStage),
			real(facts.testsRoasted),
			real(facts.testsWaiting),
			facts.remaining === null ? null : { digits: facts.remaining.mean.toFixed(2) },
			kg(facts.events.onHandG),
			facts.cover.runOutDay,
			facts.releaseBy?.releaseBy?.day ?? null,
			{ digits: formatTrimmed(Math.round(facts.loss.ratio * 10_000), 2) },
			facts.loss.because
		])
	);
}

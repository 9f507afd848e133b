import type { CuppingForm } from '#lib/domain/trial/cupping.ts';
import { cuppingScore } from '#lib/domain/trial/cupping.ts';
import { loadEnergyReadings } from '../../store/costs.ts';
import { loadEverySlot, loadProduction } from '../../store/production.ts';
import { loadTests, type TestRecord } from '../../store/tests.ts';
import { loadLogNames } from '../../store/logNames.ts';
import { kg, local, minor, real, scaled, steps, yesNo } from './cell.ts';
import { asImported, plainTable, type ExportSource, type ExportTable } from './table.ts';

/** Tests with their verdicts, production batches, and slots. */

export async function testsTable(source: ExportSource): Promise<ExportTable> {
	const [tests, files] = await Promise.all([loadTests(source.db), loadLogNames(source.db)]);
	return asImported(
		'tests.csv',
		tests.map(({ batch, roast, lotCode }) => ({
			lot: lotCode,
			number: real(batch.number),
			plannedAt: local(batch.plannedAt, source.zone),
			plannedBy: batch.plannedBy,
			purpose: batch.purpose,
			change: batch.change,
			roaster: source.roasterCode(batch.roasterId),
			chargeG: kg(roast?.chargeG ?? batch.settings.chargeG),
			startC: real(batch.settings.startC),
			soakS: real(batch.settings.soakS),
			gasSteps: steps(batch.settings.gasSteps),
			airSteps: steps(batch.settings.airSteps),
			drumRpm: real(batch.settings.drumRpm),
			roastedAt: local(roast?.roastedAt ?? null, source.zone),
			roastedBy: roast?.by ?? null,
			outG: kg(roast?.outG ?? null),
			logFile: files.get(roast?.logId ?? -1) ?? null,
			note: roast?.note ?? null
		}))
	);
}

/** Rows of one kind of record that tests have, with lot and test named. */
async function rowsOfTests<Row>(
	{ db }: ExportSource,
	rows: (test: TestRecord, named: { lot: string; test: ReturnType<typeof real> }) => readonly Row[]
): Promise<Row[]> {
	const tests = await loadTests(db);
	return tests.flatMap((test) => [
		...rows(test, { lot: test.lotCode, test: real(test.batch.number) })
	]);
}

export async function cuppingsTable(source: ExportSource): Promise<ExportTable> {
	const rows = await rowsOfTests(source, ({ cuppings }, named) =>
		cuppings
			.filter(({ session }) => session === null)
			.map((row) => ({
				...named,
				cuppedAt: local(row.cuppedAt, source.zone),
				by: row.by,
				...sheetCells(row.sheet),
				descriptors: row.descriptors,
				note: row.note
			}))
	);
	return asImported('cuppings.csv', rows);
}

/** A filled form as the columns that the import reads it from. */
function sheetCells(sheet: CuppingForm) {
	const filled = (form: string, scores: readonly number[], taints: number, faults: number) => ({
		form,
		scores: scores.join(';'),
		taints: real(taints),
		faults: real(faults)
	});
	if (sheet.form === 'sum')
		return filled(
			'2004',
			[
				...[sheet.fragranceAroma, sheet.flavour, sheet.aftertaste, sheet.acidity],
				...[sheet.body, sheet.balance],
				...[sheet.uniformCups, sheet.cleanCups, sheet.sweetCups].map((cups) => cups * 2),
				sheet.overall
			],
			sheet.taintCups,
			sheet.faultCups
		);
	return filled(
		'2024',
		[
			...[sheet.fragrance, sheet.aroma, sheet.flavour, sheet.aftertaste],
			...[sheet.acidity, sheet.sweetness, sheet.mouthfeel, sheet.overall]
		],
		sheet.nonUniformCups,
		sheet.defectiveCups
	);
}

/** Scores worked out from the forms; the two forms' scales can't be compared. */
export async function scoresTable(source: ExportSource): Promise<ExportTable> {
	const rows = await rowsOfTests(source, ({ cuppings }, named) =>
		cuppings.map((row) => [
			named.lot,
			named.test,
			local(row.cuppedAt, source.zone),
			row.by,
			row.sheet.form === 'sum' ? '2004' : '2024',
			real(cuppingScore(row.sheet)),
			row.descriptors
		])
	);
	return plainTable(['lot', 'test', 'cupped_at', 'by', 'form', 'score', 'descriptors'], rows);
}

export async function verdictsTable(source: ExportSource): Promise<ExportTable> {
	const rows = await rowsOfTests(source, ({ verdict }, named) =>
		verdict
			? [
					{
						...named,
						at: local(verdict.at, source.zone),
						by: verdict.by,
						verdict: verdict.verdict,
						reason: verdict.reason,
						againstReason: verdict.againstReason
					}
				]
			: []
	);
	return asImported('verdicts.csv', rows);
}

export async function recoveriesTable(source: ExportSource): Promise<ExportTable> {
	const rows = await rowsOfTests(source, ({ recoveries }, named) =>
		recoveries.map((row) => ({
			...named,
			at: local(row.at, source.zone),
			kind: row.kind,
			massG: kg(row.massG),
			valueMinor: minor(row.valueMinor, source.site.currency),
			product: source.productCode(row.productId),
			by: row.by
		}))
	);
	return asImported('recoveries.csv', rows);
}

/** Every reading of meters, oldest first. */
export async function energyReadingsTable(source: ExportSource): Promise<ExportTable> {
	const [readings, tests, batches] = await Promise.all([
		loadEnergyReadings(source.db),
		loadTests(source.db),
		loadProduction(source.db, 0, Number.MAX_SAFE_INTEGER)
	]);
	const testOf = new Map(tests.map((test) => [test.batch.id, test]));
	const batchOf = new Map(batches.map((batch) => [batch.id, batch]));
	return asImported(
		'energy_readings.csv',
		readings.map((row) => {
			const test = testOf.get(row.testBatchId ?? -1);
			const batch = batchOf.get(row.productionId ?? -1);
			return {
				lot: test?.lotCode ?? source.lotCode(batch?.lotId ?? null),
				test: real(test?.batch.number ?? null),
				roaster: batch ? source.roasterCode(batch.roasterId) : null,
				roastedAt: local(batch?.roastedAt ?? null, source.zone),
				at: local(row.readAt, source.zone),
				gasWh: scaled(row.gasWh, 3),
				powerWh: scaled(row.powerWh, 3),
				by: row.by
			};
		})
	);
}

export async function productionTable(source: ExportSource): Promise<ExportTable> {
	const batches = await loadProduction(source.db, 0, Number.MAX_SAFE_INTEGER);
	return asImported(
		'production.csv',
		batches.map((row) => ({
			lot: source.lotCode(row.lotId),
			product: source.productCode(row.productId),
			roaster: source.roasterCode(row.roasterId),
			roastedAt: local(row.roastedAt, source.zone),
			chargeG: kg(row.chargeG),
			outG: kg(row.outG),
			by: row.by
		}))
	);
}

export async function slotsTable(source: ExportSource): Promise<ExportTable> {
	const [slots, tests] = await Promise.all([loadEverySlot(source.db), loadTests(source.db)]);
	const numbers = new Map(tests.map((test) => [test.batch.id, test.batch.number]));
	return plainTable(
		[
			...['week', 'roaster', 'start', 'end', 'kind', 'lot', 'product', 'test', 'charge_kg'],
			...['due', 'fixed', 'why']
		],
		slots.map((slot) => [
			slot.week,
			source.roasterCode(slot.roasterId),
			local(slot.startAt, source.zone),
			local(slot.endAt, source.zone),
			slot.kind,
			source.lotCode(slot.lotId),
			source.productCode(slot.productId),
			real(numbers.get(slot.testBatchId ?? -1) ?? null),
			kg(slot.chargeG),
			local(slot.dueAt, source.zone),
			yesNo(slot.locked),
			(slot.why as { reasons: readonly string[] }).reasons.join(' ')
		])
	);
}

import { BY_THE_TABLE } from '../../db/schema.ts';
import { bagText } from '../../imports/bagCell.ts';
import { RECORDED_MOVEMENTS } from '../../imports/tables.ts';
import { loadBagRows } from '../../store/ledger.ts';
import { loadSamples } from '../../store/logs.ts';
import {
	loadMeasurements,
	loadMovements,
	loadPriceTerms,
	loadReleases,
	loadTurns
} from '../../store/lots.ts';
import { loadRecipes, loadTests } from '../../store/tests.ts';
import { kg, local, minor, real, roastClock, scaled, yesNo } from './cell.ts';
import { asImported, plainTable, type ExportSource, type ExportTable } from './table.ts';

/** Lots and what was recorded about them. */

export async function lotsTable(source: ExportSource): Promise<ExportTable> {
	return asImported(
		'lots.csv',
		source.lots.map((lot) => ({
			code: lot.code,
			name: lot.name,
			kind: lot.kind,
			country: lot.country,
			producer: lot.producer,
			supplier: lot.supplier,
			variety: lot.variety,
			cropYear: lot.cropYear,
			bagG: kg(lot.bagG),
			bagsExpected: real(lot.bagsExpected),
			expectedOn: lot.expectedOn,
			organic: yesNo(lot.organic),
			decaf: yesNo(lot.decaf),
			replaces: source.lotCode(lot.replacesLotId),
			forProduct: source.productCode(lot.forProductId),
			neededOn: lot.neededOn,
			note: lot.note,
			createdAt: local(lot.createdAt, source.zone)
		}))
	);
}

export async function priceTermsTable(source: ExportSource): Promise<ExportTable> {
	const terms = await loadPriceTerms(source.db);
	const siteMinor = (value: number) => minor(value, source.site.currency);
	return asImported(
		'price_terms.csv',
		terms.toReversed().map((row) => ({
			lot: source.lotCode(row.lotId),
			agreedOn: row.agreedOn,
			basis: row.basis,
			priceE4: scaled(row.priceE4, 4),
			differentialE4: scaled(row.differentialE4, 4),
			per: row.per,
			currency: row.currency,
			fxE6: scaled(row.fxE6 === BY_THE_TABLE ? null : row.fxE6, 6),
			fxOn: row.fxOn,
			incoterm: row.incoterm,
			freightMinor: minor(row.freightMinor, row.currency),
			insurancePpm: scaled(row.insurancePpm, 4),
			dutyPpm: scaled(row.dutyPpm, 4),
			portMinor: siteMinor(row.portMinor),
			warehouseMinor: siteMinor(row.warehouseMinor),
			financeDays: real(row.financeDays),
			financeRatePpm: scaled(row.financeRatePpm, 4),
			shippedG: kg(row.shippedG),
			franchisePpm: scaled(row.franchisePpm, 4)
		}))
	);
}

/** What people recorded; the tests, samples and batches that are imported make the rest again. */
export async function movementsTable(source: ExportSource): Promise<ExportTable> {
	const byHand: ReadonlySet<string> = new Set(RECORDED_MOVEMENTS);
	const [movements, bagRows] = await Promise.all([
		loadMovements(source.db),
		loadBagRows(source.db)
	]);
	const named = Map.groupBy(
		bagRows.filter((row) => row.named),
		(row) => row.movementId
	);
	return asImported(
		'movements.csv',
		movements
			.filter(({ kind }) => byHand.has(kind))
			.map((row) => ({
				lot: source.lotCode(row.lotId),
				at: local(row.happenedAt ?? row.at, source.zone),
				kind: row.kind,
				massG: kg(row.massG),
				reason: row.reason,
				by: row.by,
				bags: bagText(row.kind, named.get(row.id) ?? [])
			}))
	);
}

/** The whole stock ledger with the balance of each lot after each movement. */
export async function ledgerTable(source: ExportSource): Promise<ExportTable> {
	const [movements, tests] = await Promise.all([loadMovements(source.db), loadTests(source.db)]);
	const numbers = new Map(tests.map((test) => [test.batch.id, test.batch.number]));
	const balanceG = new Map<number, number>();
	return plainTable(
		['lot', 'at', 'kind', 'mass_kg', 'balance_kg', 'test', 'reason', 'by'],
		movements.map((row) => {
			const afterG = (balanceG.get(row.lotId) ?? 0) + row.massG;
			balanceG.set(row.lotId, afterG);
			return [
				source.lotCode(row.lotId),
				local(row.at, source.zone),
				row.kind,
				kg(row.massG),
				kg(afterG),
				real(numbers.get(row.testBatchId ?? -1) ?? null),
				row.reason,
				row.by
			];
		})
	);
}

export async function measurementsTable(source: ExportSource): Promise<ExportTable> {
	const measurements = await loadMeasurements(source.db);
	return asImported(
		'measurements.csv',
		measurements.map((row) => ({
			lot: source.lotCode(row.lotId),
			stage: row.stage,
			at: local(row.at, source.zone),
			moisturePct: real(row.moisturePct),
			waterActivity: real(row.waterActivity),
			densityGL: real(row.densityGL),
			screen16UpPct: real(row.screen16UpPct),
			defectsPer300G: real(row.defectsPer300G),
			by: row.by
		}))
	);
}

export async function samplesTable(source: ExportSource): Promise<ExportTable> {
	const samples = await loadSamples(source.db);
	return asImported(
		'samples.csv',
		samples.map(({ sample, lotCode, fileName }) => ({
			lot: lotCode,
			stage: sample.stage,
			roastedAt: local(sample.roastedAt, source.zone),
			by: sample.by,
			chargeG: real(sample.chargeG),
			outG: real(sample.outG),
			airFlowGS: real(sample.airFlowGS),
			sensorLagS: real(sample.sensorLagS),
			earCrackS: roastClock(sample.earCrackS),
			logFile: fileName,
			note: sample.note
		}))
	);
}

/** What the sample logs say, a row a sample; blank where a log could not be read. */
export async function readingsTable(source: ExportSource): Promise<ExportTable> {
	const samples = await loadSamples(source.db);
	const rounded = (value: number | null | undefined, places: number) =>
		real(value === null || value === undefined ? null : Number(value.toFixed(places)));
	return plainTable(
		[
			...['lot', 'stage', 'roasted_at', 'log_file', 'method', 'crack', 'crack_s', 'crack_c'],
			...['crack_sureness', 'heard_crack_s', 'early_share', 'middle_share', 'around_share'],
			...['after_share', 'development_s', 'development_ratio', 'drop_s', 'drop_c'],
			...['weight_loss', 'water_released_g', 'sureness', 'problems']
		],
		samples.map(({ sample, lotCode, fileName, method, result, problems }) => [
			lotCode,
			sample.stage,
			local(sample.roastedAt, source.zone),
			fileName,
			method,
			result?.crack.verdict ?? null,
			rounded(result?.crack.peakS, 1),
			rounded(result?.crack.temperatureC, 1),
			rounded(result?.crack.sureness, 2),
			real(sample.earCrackS),
			rounded(result?.shares.early, 4),
			rounded(result?.shares.middle, 4),
			rounded(result?.shares.around, 4),
			rounded(result?.shares.after, 4),
			rounded(result?.developmentS, 1),
			rounded(result?.developmentRatio, 4),
			rounded(result?.dropS, 1),
			rounded(result?.dropTemperatureC, 1),
			rounded(result?.weightLoss, 4),
			rounded(result?.waterReleasedG, 2),
			rounded(result?.sureness, 2),
			problems.map((p) => p.message).join(' ')
		])
	);
}

export async function releasesTable(source: ExportSource): Promise<ExportTable> {
	const [releases, recipes, tests] = await Promise.all([
		loadReleases(source.db),
		loadRecipes(source.db),
		loadTests(source.db)
	]);
	const testOf = new Map(recipes.map((recipe) => [recipe.id, recipe.testBatchId]));
	const numbers = new Map(tests.map((test) => [test.batch.id, test.batch.number]));
	return asImported(
		'releases.csv',
		releases.map((row) => ({
			lot: source.lotCode(row.lotId),
			test: real(numbers.get(testOf.get(row.recipeId) ?? -1) ?? null),
			at: local(row.at, source.zone),
			roastingBy: row.roastingBy,
			qualityBy: row.qualityBy,
			descriptors: row.descriptors,
			priceMinorPerKg: minor(row.priceMinorPerKg, source.site.currency)
		}))
	);
}

export async function reopeningsTable(source: ExportSource): Promise<ExportTable> {
	return asImported('reopenings.csv', await turnsOf(source, 'reopened'));
}

export async function rejectionsTable(source: ExportSource): Promise<ExportTable> {
	return asImported('rejections.csv', await turnsOf(source, 'rejected'));
}

async function turnsOf({ db, lotCode, zone }: ExportSource, turn: 'reopened' | 'rejected') {
	const turns = await loadTurns(db);
	return turns
		.filter((row) => row.turn === turn)
		.map((row) => ({
			lot: lotCode(row.lotId),
			at: local(row.at, zone),
			by: row.by,
			reason: row.reason
		}));
}

import { standardTexts } from '#lib/domain/trial/recipe.ts';
import { loadBatches } from '../../store/batches.ts';
import { loadProductionColours, loadTestColours } from '../../store/drum.ts';
import { loadLogNames } from '../../store/logNames.ts';
import { loadRecipes, loadTests } from '../../store/tests.ts';
import { local, real } from './cell.ts';
import { asImported, plainTable, type ExportSource, type ExportTable } from './table.ts';

/** What belongs to single batches: logs of production, colour values, recipes. */

export async function productionLogsTable(source: ExportSource): Promise<ExportTable> {
	const [batches, files] = await Promise.all([loadBatches(source.db, {}), loadLogNames(source.db)]);
	return asImported(
		'production_logs.csv',
		batches
			.filter(({ batch }) => batch.logId !== null)
			.map(({ batch, lotCode, roasterCode }) => ({
				lot: lotCode,
				roaster: roasterCode,
				roastedAt: local(batch.roastedAt, source.zone),
				logFile: files.get(batch.logId!) ?? null,
				by: batch.by
			}))
	);
}

export async function coloursTable(source: ExportSource): Promise<ExportTable> {
	const { db, zone } = source;
	const [ofTests, ofBatches, tests, batches] = await Promise.all([
		loadTestColours(db),
		loadProductionColours(db),
		loadTests(db),
		loadBatches(db, {})
	]);
	const measured = (row: { at: number; value: number; scale: string; by: string }) => ({
		at: local(row.at, zone),
		value: real(row.value),
		scale: row.scale,
		by: row.by
	});
	return asImported('colours.csv', [
		...tests.flatMap(({ batch, lotCode }) => {
			const row = ofTests.get(batch.id);
			const named = { lot: lotCode, test: real(batch.number), roaster: null, roastedAt: null };
			return row ? [{ ...named, ...measured(row) }] : [];
		}),
		...batches.flatMap(({ batch, lotCode, roasterCode }) => {
			const row = ofBatches.get(batch.id);
			const roastedAt = local(batch.roastedAt, zone);
			const named = { lot: lotCode, test: null, roaster: roasterCode, roastedAt };
			return row ? [{ ...named, ...measured(row) }] : [];
		})
	]);
}

export async function recipesTable(source: ExportSource): Promise<ExportTable> {
	const { db, zone } = source;
	const [recipes, tests] = await Promise.all([loadRecipes(db), loadTests(db)]);
	const numbers = new Map(tests.map(({ batch }) => [batch.id, batch.number]));
	const rows = recipes
		.toSorted((a, b) => a.lotId - b.lotId || a.version - b.version)
		.map((recipe) => [
			source.lotCode(recipe.lotId),
			real(recipe.version),
			real(numbers.get(recipe.testBatchId) ?? null),
			source.roasterCode(recipe.roasterId),
			local(recipe.approvedAt, zone),
			recipe.by,
			recipe.reason,
			Object.entries(standardTexts(recipe.standard))
				.map(([label, text]) => `${label}: ${text}`)
				.join('; ')
		]);
	const columns = ['lot', 'version', 'test', 'roaster', 'at', 'by', 'reason', 'held_to'];
	return plainTable(columns, rows);
}

/** What a heat-demand plan rests on, put together from the records: lots' heat, logs of drums, references. */
import type { DrumBatch } from '#lib/domain/drum/calibrate.ts';
import { lotHeat, type LotHeat } from '#lib/domain/drum/lotHeat.ts';
import { onGrid } from '#lib/domain/release/grid.ts';
import type { Reader } from '../../db/client.ts';
import { loadDrumSettings } from '../../store/drum.ts';
import { loadLog, loadSamples } from '../../store/logs.ts';
import { loadMeasurements, type Lot } from '../../store/lots.ts';
import { loadRecipes, loadTests, type Recipe, type TestRecord } from '../../store/tests.ts';
import { readBatch } from '../drum.ts';
import { preparedLibrary } from '../similar/library.ts';
import { tenLots, wantedBy } from '../similar.ts';

/** A lot's heat with the sample that it was read from, or why there is none. */
export type HeatOfLot = { readonly heat: LotHeat; readonly sampleId: number } | { whyNot: string };

/** From the last sample roast of a lot that a reading was made of, the arrived coffee before others. */
export async function heatOfLot(db: Reader, lot: Pick<Lot, 'id' | 'code'>): Promise<HeatOfLot> {
	const [samples, measurements] = await Promise.all([
		loadSamples(db, { lotId: lot.id }),
		loadMeasurements(db, lot.id)
	]);
	const read = samples.filter(({ result }) => result !== null);
	const chosen = read.findLast(({ sample }) => sample.stage === 'arrival') ?? read.at(-1);
	if (!chosen) return { whyNot: `${lot.code} has no sample roast with a release curve` };
	const result = chosen.result!;
	const log = await loadLog(db, chosen.sample.logId);
	const inlet = log?.channels.inletC;
	const grid = Float64Array.from(result.series.timeS);
	const inletC = log && inlet ? onGrid(log.timeS, inlet, grid) : null;
	const moisture = measurements.findLast(({ moisturePct }) => moisturePct !== null);
	const heat = lotHeat(result, moisture?.moisturePct ?? null, inletC && [...inletC]);
	if ('whyNot' in heat) return { whyNot: `${lot.code}: ${heat.whyNot}` };
	return { heat, sampleId: chosen.sample.id };
}

/** A test with its readable log as a batch to calibrate on; null where it has none. */
export async function batchOf(
	db: Reader,
	{ batch, lotCode, roast }: TestRecord,
	lot: LotHeat
): Promise<DrumBatch | null> {
	if (!roast) return null;
	const settings = await loadDrumSettings(db);
	const read = await readBatch(db, { ...roast, roasterId: batch.roasterId }, settings);
	if (!read?.ok) return null;
	return { label: `${lotCode} test ${batch.number}`, reading: read.value, lot };
}

/** A released lot that a new one can be led along. */
export interface Reference {
	readonly lot: Lot;
	readonly recipe: Recipe;
	/** Why it is offered: `most similar`, `replaced by this lot`. */
	readonly because: string;
}

/**
 * Released lots with a recipe from a logged test, on one roaster where it is given: the most similar first,
 * then the lot that this one takes over from.
 */
export async function referencesFor(
	db: Reader,
	lot: Lot,
	lots: readonly Lot[],
	roasterId: number | null
): Promise<Reference[]> {
	const similar = await similarLots(db, lot.id);
	const codes = new Map(similar.map((id, i) => [id, `${i + 1}. of the lots most similar to it`]));
	if (lot.replacesLotId !== null && !codes.has(lot.replacesLotId))
		codes.set(lot.replacesLotId, 'the lot that it takes over from');
	const found: Reference[] = [];
	for (const [id, because] of codes) {
		const [recipe] = await loadRecipes(db, id);
		const reference = lots.find((one) => one.id === id);
		if (!recipe || !reference) continue;
		if (roasterId !== null && recipe.roasterId !== roasterId) continue;
		found.push({ lot: reference, recipe, because });
	}
	return found;
}

/** Lots by likeness of their release, nearest first, ten at most; none where the lot has no fingerprint. */
export async function similarLots(db: Reader, lotId: number): Promise<number[]> {
	const bean = await preparedLibrary(db, 'bean');
	const own = bean.entries.findLast((entry) => entry.lotId === lotId);
	if (!own) return [];
	const prepared = await preparedLibrary(db, own.fingerprint.axis);
	const filter = { kind: '', roaster: '', months: null };
	const wanted = wantedBy(prepared, lotId, filter, null, 0);
	const { neighbours } = tenLots(own.fingerprint, prepared, wanted.is);
	return neighbours.map(({ index }) => prepared.entries[index]!.lotId);
}

const MOST_LOGS = 4;

/** Logs of a reference on its recipe's roaster: that of the recipe first, then the latest others. */
export async function logsOfReference(
	db: Reader,
	{ lot, recipe }: Reference,
	heat: LotHeat
): Promise<DrumBatch[]> {
	const tests = (await loadTests(db, { lotId: lot.id })).filter(
		({ batch, roast }) => batch.roasterId === recipe.roasterId && roast?.logId
	);
	const released = tests.filter(({ batch }) => batch.id === recipe.testBatchId);
	if (released.length === 0) return [];
	const others = tests.filter(({ batch }) => batch.id !== recipe.testBatchId).toReversed();
	const batches: DrumBatch[] = [];
	for (const test of [...released, ...others].slice(0, MOST_LOGS)) {
		const batch = await batchOf(db, test, heat);
		if (batch) batches.push(batch);
		else if (batches.length === 0) return [];
	}
	return batches;
}

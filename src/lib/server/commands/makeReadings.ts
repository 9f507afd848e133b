import { readSample } from '#lib/domain/release/read.ts';
import { READING_METHOD } from '#lib/domain/release/reading.ts';
import { reading } from '../db/schema.ts';
import { loadLog, loadSamples, type SampleRecord } from '../store/logs.ts';
import { loadMeasurements } from '../store/lots.ts';
import { requireSite } from '../store/site.ts';
import type { Deed } from './act.ts';

/**
 * Reads sample logs anew and keeps the readings: after a roast, after a measurement that a reading rests
 * on, and when the method has changed. A log that can't be read keeps its problems.
 */
export async function makeReadings(
	deed: Deed,
	only: { sampleId?: number; lotId?: number }
): Promise<void> {
	const [site, samples] = await Promise.all([requireSite(deed.tx), loadSamples(deed.tx, only)]);
	for (const record of samples) {
		const made = await readingOf(deed, record, site.altitudeM);
		await deed.tx
			.insert(reading)
			.values({ sampleId: record.sample.id, ...made })
			.onConflictDoUpdate({ target: reading.sampleId, set: made });
	}
}

async function readingOf(deed: Deed, { sample }: SampleRecord, altitudeM: number) {
	const [log, measurements] = await Promise.all([
		loadLog(deed.tx, sample.logId),
		loadMeasurements(deed.tx, sample.lotId)
	]);
	const moisture = measurements.findLast((m) => m.stage === sample.stage && m.moisturePct !== null);
	const result = readSample(log!, {
		chargeG: sample.chargeG,
		outG: sample.outG,
		greenMoisturePct: moisture?.moisturePct ?? null,
		airFlowGS: sample.airFlowGS,
		sensorLagS: sample.sensorLagS,
		pressurePa: null,
		altitudeM,
		roomHumidityGKg: null
	});
	return {
		method: READING_METHOD,
		result: result.ok ? result.value : null,
		problems: result.ok ? result.value.problems : result.problems,
		madeAt: deed.now
	};
}

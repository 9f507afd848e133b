import { fingerprintOf } from '#lib/domain/release/fingerprint.ts';
import { readSample } from '#lib/domain/release/read.ts';
import { READING_METHOD, type SampleReading } from '#lib/domain/release/reading.ts';
import type { Reader } from '../db/client.ts';
import { loadLog, loadSamples, type SampleRoast } from '../store/logs.ts';
import { loadMeasurements } from '../store/lots.ts';
import {
	fingerprintRow,
	storeReading,
	type MadeFingerprint,
	type MadeReading
} from '../store/readings.ts';
import { requireSite } from '../store/site.ts';
import type { Deed } from './act.ts';

/**
 * Reads sample logs anew and keeps the readings with their fingerprints: after a roast and after a
 * measurement that a reading rests on. A log that can't be read keeps its problems. (All logs, when the
 * method has changed: `jobs/reread.ts`.)
 */
export async function makeReadings(
	deed: Deed,
	only: { sampleId?: number; lotId?: number }
): Promise<void> {
	const [site, samples] = await Promise.all([requireSite(deed.tx), loadSamples(deed.tx, only)]);
	for (const { sample } of samples)
		await storeReading(
			deed.tx,
			sample.id,
			await readAnew(deed.tx, sample, site.altitudeM, deed.now)
		);
}

/** A reading with its fingerprint, ready to be kept. */
export interface Made {
	readonly reading: MadeReading & { readonly result: SampleReading | null };
	readonly fingerprint: MadeFingerprint;
}

/** Reads one sample's log with all that is known about the roast; keeps nothing. */
export async function readAnew(
	db: Reader,
	sample: SampleRoast,
	altitudeM: number,
	now: number
): Promise<Made> {
	const [log, measurements] = await Promise.all([
		loadLog(db, sample.logId),
		loadMeasurements(db, sample.lotId)
	]);
	const moisture = measurements.findLast((m) => m.stage === sample.stage && m.moisturePct !== null);
	const read = readSample(log!, {
		chargeG: sample.chargeG,
		outG: sample.outG,
		greenMoisturePct: moisture?.moisturePct ?? null,
		airFlowGS: sample.airFlowGS,
		sensorLagS: sample.sensorLagS,
		pressurePa: null,
		altitudeM,
		roomHumidityGKg: null
	});
	const print = read.ok ? fingerprintOf(read.value) : read;
	return {
		reading: {
			method: READING_METHOD,
			result: read.ok ? read.value : null,
			problems: read.ok ? read.value.problems : read.problems,
			madeAt: now
		},
		fingerprint: print.ok
			? fingerprintRow(print.value, [], READING_METHOD, now)
			: fingerprintRow(null, print.problems, READING_METHOD, now)
	};
}

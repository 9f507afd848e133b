import type { SampleStage } from '#lib/domain/lot/lot.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { measurement } from '../db/schema.ts';
import { note, type Deed } from './act.ts';
import { makeReadings } from './makeReadings.ts';

export interface MeasurementInput {
	readonly lotId: number;
	readonly stage: SampleStage;
	readonly at: InstantMs;
	/** Wet basis, %. */
	readonly moisturePct: number | null;
	readonly waterActivity: number | null;
	readonly densityGL: number | null;
	readonly screen16UpPct: number | null;
	readonly defectsPer300G: number | null;
}

/** What each figure can be at all: wide physical bounds, not quality limits. */
const BOUNDS = [
	['moisturePct', 'moisture_pct', 0, 30, '%'],
	['waterActivity', 'water_activity', 0, 1, ''],
	['densityGL', 'density_g_l', 300, 1000, 'g/L'],
	['screen16UpPct', 'screen_16_up_pct', 0, 100, '%'],
	['defectsPer300G', 'defects_per_300g', 0, 2000, '']
] as const;

/** Records green measurements; at least one figure, each within what is physically possible. */
export async function recordMeasurement(
	deed: Deed,
	input: MeasurementInput
): Promise<Outcome<{ lotId: number }>> {
	const problems: Problem[] = [];
	for (const [field, path, low, high, unit] of BOUNDS) {
		const value = input[field];
		if (value !== null && (value < low || value > high))
			problems.push({
				path,
				message: `Found ${value}, expected ${low} to ${high} ${unit}`.trim() + '.'
			});
	}
	if (BOUNDS.every(([field]) => input[field] === null))
		problems.push({ path: 'moisture_pct', message: 'Give at least one figure.' });
	if (problems.length > 0) return bad(...problems);
	await deed.tx.insert(measurement).values({ ...input, by: deed.by, recordedAt: deed.now });
	await makeReadings(deed, { lotId: input.lotId });
	await note(deed, 'record measurement', input.lotId, { ...input });
	return good({ lotId: input.lotId });
}

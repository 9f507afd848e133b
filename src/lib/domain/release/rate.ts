/**
 * Water release rate by the balance of the dry air: what the exhaust carries off less what the room
 * air brought in, flow x (humidity ratio of the exhaust - humidity ratio of the room).
 */
import { noiseOf } from './humidity.ts';
import { rescaleBehindLag, unlagged, unlagNoiseGain } from './lag.ts';

/** Windows tried for the lag correction, places; the first quiet enough is taken. */
const WINDOWS = [15, 21, 31, 41, 61] as const;
/** Noise allowed on the corrected curve, as a share of its highest value. */
const QUIET_SHARE = 0.02;

export interface Release {
	/** Release behind the sensor's lag, not smoothed, as humidity rise at the flow of charge, g/kg. */
	readonly shownGKg: Float64Array;
	/** The same with the lag taken off and the noise held down. */
	readonly trueGKg: Float64Array;
	/** Standard deviation of the noise of `shownGKg`, g/kg. */
	readonly noiseGKg: number;
	/** Highest value of `trueGKg`. */
	readonly peakGKg: number;
	/** Places of the window that the lag was taken off with. */
	readonly windowS: number;
}

/**
 * Release from the humidity ratio that the sensor shows above the room's, g/kg on the grid, the flow
 * factor and the lag. Times dry-air flow at charge (g/s) / 1000 it is the rate in g/s.
 */
export function releaseOf(
	excessGKg: Float64Array,
	flowFactor: Float64Array,
	lagS: number
): Release {
	const shownGKg = rescaleBehindLag(excessGKg, flowFactor, lagS);
	const noiseGKg = noiseOf(shownGKg);
	const peak = highestOf(shownGKg);
	const quiet = (points: number) => noiseGKg * unlagNoiseGain(lagS, points) <= QUIET_SHARE * peak;
	const windowS = WINDOWS.find(quiet) ?? WINDOWS.at(-1)!;
	const trueGKg = unlagged(shownGKg, lagS, windowS);
	return { shownGKg, trueGKg, noiseGKg, peakGKg: highestOf(trueGKg), windowS };
}

/** Highest value, nought at least. */
function highestOf(values: Float64Array): number {
	let highest = 0;
	for (let i = 0; i < values.length; i++) if (values[i]! > highest) highest = values[i]!;
	return highest;
}

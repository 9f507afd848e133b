import { bad, good, type Outcome, type Problem } from '../quantity/problem.ts';
import { DEFAULT_THRESHOLDS, type FaultThresholds } from './faultRules.ts';

/** How a roaster's logs are read. Defaults are common practice, no source. */
export interface DrumSettings {
	/** Width of the window of the rate of rise, s. */
	readonly rorWindowS: number;
	/** Width of the window that smooths temperatures, s. */
	readonly smoothingWindowS: number;
	/** Rows further apart leave a gap, s; a log with slower rows throughout gets 2.5 of its steps. */
	readonly longestGapS: number;
	/** The area counts above this bean temperature, C. */
	readonly areaBaseC: number;
	/** Bean temperature taken for the colour change where nobody marked it, C. */
	readonly colourChangeC: number;
	/** Bean temperature at which the late part begins where nobody marked first crack, C. */
	readonly lateFromC: number;
	/** Temperature of the beans before charge, C; only the estimate of the probe's lag needs it. */
	readonly greenC: number;
	readonly thresholds: FaultThresholds;
}

/** Settings as a roaster keeps them: only what differs from the default. */
export type DrumSettingsGiven = Partial<Omit<DrumSettings, 'thresholds'>> & {
	readonly thresholds?: Partial<FaultThresholds>;
};

export const DEFAULT_SETTINGS: DrumSettings = {
	rorWindowS: 30,
	smoothingWindowS: 14,
	longestGapS: 10,
	areaBaseC: 100,
	colourChangeC: 150,
	lateFromC: 185,
	greenC: 22,
	thresholds: DEFAULT_THRESHOLDS
};

/**
 * The settings with their defaults filled in. Fails with one problem for each value that is not a
 * number above nought, and for a window below 4 s, which would hold too few values for a parabola.
 */
export function drumSettings(given: DrumSettingsGiven = {}): Outcome<DrumSettings> {
	const settings: DrumSettings = {
		...DEFAULT_SETTINGS,
		...given,
		thresholds: { ...DEFAULT_THRESHOLDS, ...given.thresholds }
	};
	const { thresholds, ...rest } = settings;
	const problems: Problem[] = [];
	for (const [path, value] of [...Object.entries(rest), ...Object.entries(thresholds)]) {
		if (Number.isFinite(value) && value > 0) continue;
		problems.push({ path, message: `${path} is ${value}; a number above 0 was expected` });
	}
	for (const path of ['rorWindowS', 'smoothingWindowS'] as const) {
		if (!(settings[path] > 0 && settings[path] < 4)) continue;
		problems.push({ path, message: `${path} is ${settings[path]} s; at least 4 s was expected` });
	}
	return problems.length > 0 ? bad(...problems) : good(settings);
}

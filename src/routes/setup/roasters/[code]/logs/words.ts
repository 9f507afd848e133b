import { FAULT_RULES } from '#lib/domain/drum/faultRules.ts';

/** The settings of how a drum log is read, in words and in the order of the form. */
interface SettingWords {
	readonly name: string;
	readonly label: string;
	readonly unit: string;
	readonly meaning: string;
}

const C_MIN = '°C/min';

export const READING_SETTINGS: readonly SettingWords[] = [
	{
		...{ name: 'rorWindowS', label: 'Window of the rate of rise', unit: 's' },
		meaning: 'Slope over so many seconds; none nearer than half of it to charge and drop'
	},
	{
		...{ name: 'smoothingWindowS', label: 'Window of temperatures', unit: 's' },
		meaning: 'Temperatures at marks are smoothed over it'
	},
	{
		...{ name: 'longestGapS', label: 'Longest bridged gap', unit: 's' },
		meaning: 'Rows further apart leave a gap'
	},
	{
		...{ name: 'areaBaseC', label: 'Base of the area', unit: '°C' },
		meaning: 'The area under the curve counts above it'
	},
	{
		...{ name: 'colourChangeC', label: 'Colour change at', unit: '°C' },
		meaning: 'Taken where nobody marked it'
	},
	{
		...{ name: 'lateFromC', label: 'Late part from', unit: '°C' },
		meaning: 'Where nobody marked first crack'
	},
	{
		...{ name: 'greenC', label: 'Green coffee at charge', unit: '°C' },
		meaning: 'Only the lag of the probe needs it'
	}
];

const THRESHOLDS: readonly SettingWords[] = [
	{ name: 'scorchRorCMin', label: 'Highest rate of rise', unit: C_MIN, meaning: '' },
	{ name: 'scorchChargeC', label: 'Probe at charge', unit: '°C', meaning: '' },
	{ name: 'probeLagS', label: 'Lag of the probe', unit: 's', meaning: '' },
	{ name: 'stallBelowCMin', label: 'Rate of rise below', unit: C_MIN, meaning: '' },
	{ name: 'stallForS', label: 'for', unit: 's', meaning: '' },
	{ name: 'crashFallCMin', label: 'Fall beyond the trend', unit: C_MIN, meaning: '' },
	{ name: 'crashWithinS', label: 'within', unit: 's', meaning: '' },
	{ name: 'flickRiseCMin', label: 'Rise from a low', unit: C_MIN, meaning: '' },
	{ name: 'runawayAboveCrackCMin', label: 'Above first crack by', unit: C_MIN, meaning: '' }
];

/** One group for each fault: what it means and its thresholds. */
export const FAULT_SETTINGS = FAULT_RULES.map(({ name, meaning, evidence, thresholds }) => ({
	...{ name, meaning, evidence },
	settings: THRESHOLDS.filter((words) => thresholds.some(({ key }) => key === words.name))
}));

/** `Flick: rise from a low`, for a setting by its name alone. */
export function settingText(name: string): string {
	const plain = READING_SETTINGS.find((words) => words.name === name);
	if (plain) return plain.label;
	const fault = FAULT_SETTINGS.find(({ settings }) => settings.some((s) => s.name === name));
	const words = fault?.settings.find((s) => s.name === name);
	return words ? `${fault!.name}, ${words.label.toLowerCase()}` : name;
}

/** Unit of a setting by its name. */
export function settingUnit(name: string): string {
	return [...READING_SETTINGS, ...THRESHOLDS].find((words) => words.name === name)?.unit ?? '';
}

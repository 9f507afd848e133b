import { formatKg } from '../quantity/mass.ts';

/**
 * The settings of a test batch and what changed from one test to the next. A test should change one
 * thing, else its verdict can't be put down to anything (common practice, no source).
 */

/** A control set to a share of its range from a time on. */
export interface ControlStep {
	/** Seconds after charge. */
	readonly atS: number;
	/** Percent of the control's range, 0 to 100. */
	readonly pct: number;
}

export interface TestSettings {
	readonly chargeG: number;
	/** Drum temperature at charge, Celsius. */
	readonly startC: number;
	/** Seconds after charge before the first heat. */
	readonly soakS: number;
	readonly gasSteps: readonly ControlStep[];
	readonly airSteps: readonly ControlStep[];
	readonly drumRpm: number;
}

/** One setting that differs, with both values as text; `unit` is empty where the text carries it. */
export interface SettingChange {
	readonly field: keyof TestSettings;
	readonly label: string;
	readonly from: string;
	readonly to: string;
	readonly unit: string;
	/** What differs, with its unit; of steps only the times at which the control stands otherwise. */
	readonly difference: string;
}

interface Setting {
	readonly label: string;
	readonly unit: string;
	readonly text: (settings: TestSettings) => string;
	readonly steps?: (settings: TestSettings) => readonly ControlStep[];
}

const SETTINGS: { readonly [field in keyof TestSettings]: Setting } = {
	chargeG: {
		label: 'Charge',
		unit: 'kg',
		text: ({ chargeG }) => formatKg(chargeG).replace(' kg', '')
	},
	startC: { label: 'Start temperature', unit: '°C', text: ({ startC }) => String(startC) },
	soakS: { label: 'Soak', unit: 's', text: ({ soakS }) => String(soakS) },
	gasSteps: {
		label: 'Gas',
		unit: '',
		text: ({ gasSteps }) => stepsText(gasSteps),
		steps: ({ gasSteps }) => gasSteps
	},
	airSteps: {
		label: 'Air',
		unit: '',
		text: ({ airSteps }) => stepsText(airSteps),
		steps: ({ airSteps }) => airSteps
	},
	drumRpm: { label: 'Drum speed', unit: 'rpm', text: ({ drumRpm }) => String(drumRpm) }
};

/** What differs between two tests, in the order of the settings; empty when nothing does. */
export function settingChanges(previous: TestSettings, next: TestSettings): SettingChange[] {
	const fields = Object.keys(SETTINGS) as (keyof TestSettings)[];
	return fields.flatMap((field) => {
		const { label, unit, text, steps } = SETTINGS[field];
		const from = text(previous);
		const to = text(next);
		if (from === to) return [];
		const difference = steps
			? stepsDifference(steps(previous), steps(next))
			: `${from} to ${to} ${unit}`;
		return [{ field, label, from, to, unit, difference }];
	});
}

/** Every setting with its unit, in their order: `Charge`, `12 kg`. */
export function settingTexts(settings: TestSettings): { label: string; text: string }[] {
	return Object.values(SETTINGS).map(({ label, unit, text }) => ({
		label,
		text: `${text(settings)} ${unit}`.trim()
	}));
}

/** One change as a phrase: `Charge 12 to 10 kg`. */
export function changeText({ label, difference }: SettingChange): string {
	return `${label} ${difference}`;
}

/** Where two controls stand differently, from each time on: `7:50 80 to 69 %, 9:20 72 to 61 %`. */
function stepsDifference(previous: readonly ControlStep[], next: readonly ControlStep[]): string {
	if (previous.length === 0 || next.length === 0)
		return `${stepsText(previous)} to ${stepsText(next)}`;
	const times = [...new Set([...previous, ...next].map(({ atS }) => atS))].sort((a, b) => a - b);
	const parts = times.flatMap((atS) => {
		const from = heldAt(previous, atS);
		const to = heldAt(next, atS);
		return from === to ? [] : [`${minutesText(atS)} ${from ?? 'none'} to ${to ?? 'none'} %`];
	});
	return parts.join(', ');
}

/** Percent that a control stands at; undefined before its first step. */
function heldAt(steps: readonly ControlStep[], atS: number): number | undefined {
	const past = steps.filter((step) => step.atS <= atS);
	return past.toSorted((a, b) => a.atS - b.atS).at(-1)?.pct;
}

/**
 * Control steps in words, oldest first: `0:00 80 %, 3:30 60 %`. A step that changes nothing is left out, so
 * that the same control by other steps reads the same.
 */
export function stepsText(steps: readonly ControlStep[]): string {
	const ordered = [...steps].sort((a, b) => a.atS - b.atS);
	const real = ordered.filter((step, index) => step.pct !== ordered[index - 1]?.pct);
	if (real.length === 0) return 'none';
	return real.map(({ atS, pct }) => `${minutesText(atS)} ${pct} %`).join(', ');
}

function minutesText(seconds: number): string {
	const whole = Math.round(seconds);
	return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}

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
}

interface Setting {
	readonly label: string;
	readonly unit: string;
	readonly text: (settings: TestSettings) => string;
}

const SETTINGS: { readonly [field in keyof TestSettings]: Setting } = {
	chargeG: {
		label: 'Charge',
		unit: 'kg',
		text: ({ chargeG }) => formatKg(chargeG).replace(' kg', '')
	},
	startC: { label: 'Start temperature', unit: '°C', text: ({ startC }) => String(startC) },
	soakS: { label: 'Soak', unit: 's', text: ({ soakS }) => String(soakS) },
	gasSteps: { label: 'Gas', unit: '', text: ({ gasSteps }) => stepsText(gasSteps) },
	airSteps: { label: 'Air', unit: '', text: ({ airSteps }) => stepsText(airSteps) },
	drumRpm: { label: 'Drum speed', unit: 'rpm', text: ({ drumRpm }) => String(drumRpm) }
};

/** What differs between two tests, in the order of the settings; empty when nothing does. */
export function settingChanges(previous: TestSettings, next: TestSettings): SettingChange[] {
	const fields = Object.keys(SETTINGS) as (keyof TestSettings)[];
	return fields.flatMap((field) => {
		const { label, unit, text } = SETTINGS[field];
		const from = text(previous);
		const to = text(next);
		return from === to ? [] : [{ field, label, from, to, unit }];
	});
}

/** One change as a phrase: `Charge 12 to 10 kg`. */
export function changeText({ label, from, to, unit }: SettingChange): string {
	return `${label} ${from} to ${to}${unit === '' ? '' : ` ${unit}`}`;
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

import { clock, fixed, percent, signed, withUnit } from '#lib/ui/format/number.ts';

/** Figures of a drum log by their unit; `1` is a share. */
type Unit = 's' | 'C' | 'C/min' | 'C min' | '1';

const UNITS = { s: 's', C: '°C', 'C/min': '°C/min', 'C min': '°C min', '1': 'points' } as const;
const DECIMALS = { s: 0, C: 1, 'C/min': 1, 'C min': 0, '1': 1 } as const;

/** A figure with its unit: `7:32`, `204.1 °C`, `14.8 %`. */
export function figureText(value: number | null, unit: Unit): string {
	if (unit === 's') return clock(value);
	if (unit === '1') return percent(value);
	return withUnit(fixed(value, DECIMALS[unit]), UNITS[unit]);
}

/** A difference of two figures: `+12 s`, `−0.4 points`. */
export function differenceText(difference: number | null, unit: Unit): string {
	const scaled = difference === null || unit !== '1' ? difference : difference * 100;
	return withUnit(signed(scaled, DECIMALS[unit]), UNITS[unit]);
}

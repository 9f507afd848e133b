import { roundRatio, ratio } from '#lib/domain/quantity/decimal.ts';
import { minorDecimals, type Currency } from '#lib/domain/quantity/money.ts';
import type { ControlStep } from '#lib/domain/trial/settings.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { momentOf } from '../moment.ts';

/**
 * Cells of an exported table. Text came from people and is disarmed when it is written; a number comes
 * from a numeric field of ours and is written as it is.
 */
export interface NumberCell {
	/** Digits with a point for decimals, no grouping. */
	readonly digits: string;
}
export type Cell = string | NumberCell | null;

/** A measured number as it is kept. */
export function real(value: number | null): Cell {
	return value === null ? null : { digits: String(value) };
}

/** A scaled integer in its own unit, zeros that say nothing left off: grams as kilograms with 3. */
export function scaled(value: number | null, decimals: number): Cell {
	if (value === null) return null;
	const digits = String(Math.abs(value)).padStart(decimals + 1, '0');
	const whole = digits.slice(0, digits.length - decimals);
	const fraction = digits.slice(digits.length - decimals).replace(/0+$/, '');
	const sign = value < 0 ? '-' : '';
	return {
		digits: fraction === '' || decimals === 0 ? sign + whole : `${sign}${whole}.${fraction}`
	};
}

/** Grams as kilograms. */
export function kg(massG: number | null): Cell {
	return scaled(massG, 3);
}

/** Minor units as an amount of the currency's major unit. */
export function minor(value: number | null, currency: Currency): Cell {
	return scaled(value, minorDecimals(currency));
}

/** Whole seconds as hours, to four decimals. */
export function hours(seconds: number): Cell {
	return scaled(roundRatio(ratio(seconds * 10_000, 3600)), 4);
}

export function yesNo(value: boolean): Cell {
	return value ? 'yes' : 'no';
}

/** `2026-11-25 14:05` on the site's clock. */
export function local(instant: InstantMs | null, zone: string): Cell {
	if (instant === null) return null;
	const { day, clock } = momentOf(instant, zone);
	return `${day} ${clock}`;
}

/** Seconds from charge as `5:54`, decimals kept. */
export function roastClock(seconds: number | null): string | null {
	if (seconds === null) return null;
	const thousandths = Math.round(seconds * 1000);
	const minutes = Math.floor(thousandths / 60_000);
	const rest = (thousandths % 60_000) / 1000;
	const [whole = '0', fraction] = String(rest).split('.');
	return `${minutes}:${whole.padStart(2, '0')}${fraction ? `.${fraction}` : ''}`;
}

/** Minutes after midnight as `06:30`. */
export function timeOfDay(minutes: number): string {
	const two = (n: number) => String(n).padStart(2, '0');
	return `${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
}

/** `0:00 60; 4:30 75`. */
export function steps(all: readonly ControlStep[]): string {
	return all.map(({ atS, pct }) => `${roastClock(atS)} ${pct}`).join('; ');
}

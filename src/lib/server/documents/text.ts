import { formatTrimmed } from '#lib/domain/quantity/decimal.ts';
import { formatMoney, type Money } from '#lib/domain/quantity/money.ts';

/** Figures as papers write them. What is missing is an en dash. */
export const MISSING = '–';

/** A number with so many decimals, `1,234.50`. */
export function fixed(value: number | null | undefined, decimals = 0): string {
	if (value === null || value === undefined || !Number.isFinite(value)) return MISSING;
	const [whole = '', fraction] = Math.abs(value).toFixed(decimals).split('.');
	const grouped = whole.replace(/\B(?=(\d{3})+$)/g, ',');
	const text = fraction === undefined ? grouped : `${grouped}.${fraction}`;
	return value < 0 && /[1-9]/.test(text) ? `−${text}` : text;
}

/** A number with its unit on the same line; a missing one has none. */
export function withUnit(text: string, unit: string): string {
	return text === MISSING ? text : `${text}\u00a0${unit}`;
}

/** A share of 0 to 1 as `13.4 %`. */
export function percent(share: number | null | undefined, decimals = 1): string {
	return withUnit(fixed(share === null || share === undefined ? null : share * 100, decimals), '%');
}

/** Seconds as `5:54`. */
export function clockText(timeS: number | null | undefined): string {
	if (timeS === null || timeS === undefined || !Number.isFinite(timeS)) return MISSING;
	const total = Math.round(timeS);
	return `${Math.floor(total / 60)}:${String(total % 60).padStart(2, '0')}`;
}

/** Grams in kilograms without the unit, zeros that say nothing left off. */
export function kgText(massG: number): string {
	return formatTrimmed(massG, 3).replace('-', '−');
}

/** `£1,234.50`. */
export function moneyText(value: Money | null): string {
	return value ? formatMoney(value, { symbol: true }).replace('-', '−') : MISSING;
}

/** Minutes after midnight as `06:30`; past midnight they begin again. */
export function timeOfDayText(minutes: number): string {
	const two = (n: number) => String(n).padStart(2, '0');
	return `${two(Math.floor(minutes / 60) % 24)}:${two(minutes % 60)}`;
}

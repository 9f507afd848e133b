/**
 * Numbers as text, the same on the server and in the browser: no locale data is consulted. Groups are
 * parted by a comma as in the domain's own texts, minus is U+2212, and what is missing is an en dash.
 */

/** Narrow space that doesn't break a line: between a number and its unit. */
export const THIN = '\u202f';
export const MINUS = '\u2212';
/** Shown where there is no value. */
export const MISSING = '\u2013';

type Maybe = number | null | undefined;

function group(digits: string): string {
	return digits.replace(/\B(?=(\d{3})+$)/g, ',');
}

/** Joins a number's text and its unit; a missing number gets no unit. */
export function withUnit(text: string, unit: string): string {
	return text === MISSING || unit === '' ? text : `${text}${THIN}${unit}`;
}

/** `value` with exactly `decimals` places (0 to 20), `1,234.50`. Not finite, null: an en dash. */
export function fixed(value: Maybe, decimals = 0): string {
	if (value === null || value === undefined || !Number.isFinite(value)) return MISSING;
	const [whole = '0', part] = Math.abs(value).toFixed(decimals).split('.');
	const text = part === undefined ? group(whole) : `${group(whole)}.${part}`;
	return value < 0 && /[1-9]/.test(text) ? `${MINUS}${text}` : text;
}

/** As `fixed`, with `+` before what is above zero: for differences. */
export function signed(value: Maybe, decimals = 0): string {
	const text = fixed(value, decimals);
	return typeof value === 'number' && value > 0 && /[1-9]/.test(text) ? `+${text}` : text;
}

/** Grams as kilograms, without the unit: 1234500 g is `1,234.5`. */
export function kg(massG: Maybe, decimals = 1): string {
	return fixed(massG === null || massG === undefined ? null : massG / 1000, decimals);
}

/** Grams as kilograms with the unit. */
export function kgWithUnit(massG: Maybe, decimals = 1): string {
	return withUnit(kg(massG, decimals), 'kg');
}

/** A share from 0 to 1 as a percentage with its sign: .134 is `13.4 %`. */
export function percent(share: Maybe, decimals = 1): string {
	return withUnit(fixed(share === null || share === undefined ? null : share * 100, decimals), '%');
}

/** Seconds as `3:40`, or `1:02:03` from an hour up; rounded to the second first. */
export function clock(timeS: Maybe): string {
	if (timeS === null || timeS === undefined || !Number.isFinite(timeS)) return MISSING;
	const total = Math.round(Math.abs(timeS));
	const hours = Math.floor(total / 3600);
	const minutes = Math.floor((total % 3600) / 60);
	const two = (n: number) => String(n).padStart(2, '0');
	const seconds = two(total % 60);
	const text = hours > 0 ? `${hours}:${two(minutes)}:${seconds}` : `${minutes}:${seconds}`;
	return timeS < 0 && total > 0 ? `${MINUS}${text}` : text;
}

/** A count and its noun: `1 lot`, `12 lots`. Give `many` where adding an s is wrong. */
export function count(n: number, one: string, many = `${one}s`): string {
	return `${fixed(n)} ${n === 1 ? one : many}`;
}

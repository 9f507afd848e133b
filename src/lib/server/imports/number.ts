/**
 * Text of a cell to a number or a time. Strict on purpose: what isn't wholly a number in the file's own
 * style is refused, so that a wrong style is found instead of being read a thousand times too large.
 */

export type Decimal = '.' | ',';
/** Character between groups of three digits; '' when the file has none, ' ' also stands for no-break spaces. */
export type Thousands = '' | ',' | '.' | ' ' | "'";

export interface NumberStyle {
	readonly decimal: Decimal;
	readonly thousands: Thousands;
}

const NOTHING = new Set(['', '-', '--', '---', 'nan', 'n/a', 'na', '#n/a', 'null', 'none', 'ol']);

/** Whether a cell says that there is no value: blank, dashes, NaN, N/A and their like. */
export function isMissing(text: string): boolean {
	return NOTHING.has(text.trim().toLowerCase());
}

const PLAIN = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d{1,3})?$/i;

const GROUPED: Record<Exclude<Thousands, ''>, RegExp> = {
	',': /^([+-]?\d{1,3}(?:,\d{3})+)(\.\d+)?$/,
	'.': /^([+-]?\d{1,3}(?:\.\d{3})+)(,\d+)?$/,
	' ': /^([+-]?\d{1,3}(?: \d{3})+)([.,]\d+)?$/,
	"'": /^([+-]?\d{1,3}(?:'\d{3})+)([.,]\d+)?$/
};

/** The number a cell holds in the given style, or null when it doesn't hold exactly one. */
export function parseNumber(text: string, style: NumberStyle): number | null {
	const plain = plainNumber(text, style);
	if (plain === null) return null;
	const value = Number(plain);
	return Number.isFinite(value) ? value : null;
}

/** The number's digits with a decimal point and no grouping, for exact arithmetic; null when it is none. */
export function plainNumber(text: string, style: NumberStyle): string | null {
	const cell = normalise(text);
	if (cell.length > 40) return null;
	const other = style.decimal === '.' ? ',' : '.';
	if (!cell.includes(other)) {
		const pointed = cell.replace(',', '.');
		if (PLAIN.test(pointed)) return pointed;
	}
	if (style.thousands === '') return null;
	const grouped = GROUPED[style.thousands].exec(cell);
	if (!grouped) return null;
	const fraction = grouped[2] ?? '';
	if (fraction && fraction[0] !== style.decimal) return null;
	return grouped[1]!.replace(/[,.' ]/g, '') + fraction.replace(',', '.');
}

/** Trims, turns typographic spaces, apostrophes and minus signs into the plain ones. */
function normalise(text: string): string {
	const cell = text.trim();
	if (!TYPOGRAPHIC.test(cell)) return cell;
	return cell
		.replace(/[\u00a0\u2009\u202f]/g, ' ')
		.replace(/\u2019/g, "'")
		.replace(/^\u2212/, '-');
}

const TYPOGRAPHIC = /[\u00a0\u2009\u2019\u202f\u2212]/;

/** What one cell says about the style of numbers in its file. */
export type StyleEvidence = 'point' | 'comma' | 'either' | 'none';

/**
 * `12,5` and `1.234,5` speak for a decimal comma, `12.5` and `1,234.5` for a point; `1,234` and `1.234`
 * can be either; a whole number says nothing.
 */
export function styleEvidence(text: string): StyleEvidence {
	const cell = normalise(text).replace(/[' ]/g, '');
	if (!/^[+-]?[\d.,]+$/.test(cell) || !/\d/.test(cell)) return 'none';
	const points = cell.split('.').length - 1;
	const commas = cell.split(',').length - 1;
	if (points + commas === 0) return 'none';
	if (points && commas) return mixedEvidence(cell, points, commas);
	const mark = points ? '.' : ',';
	const here: StyleEvidence = points ? 'point' : 'comma';
	if (points + commas > 1) return groupedOnly(cell, mark) ? (points ? 'comma' : 'point') : 'none';
	const [whole = '', fraction = ''] = cell.replace(/^[+-]/, '').split(mark);
	const couldGroup = fraction.length === 3 && /^[1-9]\d{0,2}$/.test(whole);
	return couldGroup ? 'either' : here;
}

function mixedEvidence(cell: string, points: number, commas: number): StyleEvidence {
	const last = cell.lastIndexOf('.') > cell.lastIndexOf(',') ? 'point' : 'comma';
	if (last === 'point' && points === 1) return 'point';
	if (last === 'comma' && commas === 1) return 'comma';
	return 'none';
}

function groupedOnly(cell: string, mark: string): boolean {
	const groups = cell.replace(/^[+-]/, '').split(mark);
	return /^\d{1,3}$/.test(groups[0]!) && groups.slice(1).every((group) => /^\d{3}$/.test(group));
}

/** How a style is said to a person. */
export function styleText(style: NumberStyle): string {
	const marks: Record<string, string> = {
		'.': 'point',
		',': 'comma',
		' ': 'space',
		"'": 'apostrophe'
	};
	const decimal = `decimal ${marks[style.decimal]}`;
	return style.thousands ? `${decimal}, thousands ${marks[style.thousands]}` : decimal;
}

/** A clock reading in seconds: `m:ss`, `mm:ss.f` or `h:mm:ss.f`, the fraction with point or comma. */
export function parseClock(text: string): number | null {
	const match = /^(-?)(?:(\d{1,3}):)?(\d{1,3}):(\d{2})([.,]\d{1,9})?$/.exec(text.trim());
	if (!match) return null;
	const [, sign, hours, minutes, seconds, fraction] = match;
	if (Number(seconds) > 59 || (hours !== undefined && Number(minutes) > 59)) return null;
	const whole = Number(hours ?? 0) * 3600 + Number(minutes) * 60 + Number(seconds);
	const value = whole + (fraction ? Number(`0.${fraction.slice(1)}`) : 0);
	return sign ? -value : value;
}

/** Order of day and month in a date of numbers; the year stands first in 'ymd'. */
export type DateOrder = 'ymd' | 'dmy' | 'mdy';

const STAMP =
	/^(\d{1,4})[-./](\d{1,2})[-./](\d{1,4})[T ,]+(\d{1,2}):(\d{2})(?::(\d{2})([.,]\d{1,9})?)?\s*(am|pm)?\s*(Z|[+-]\d{2}:?\d{2})?$/i;

/**
 * A date and time in seconds since 1970-01-01T00:00 of its own offset, or null. Only differences between
 * rows of one file are used, so a time without zone is taken as if it were UTC.
 */
export function parseStamp(text: string, order: DateOrder): number | null {
	const match = STAMP.exec(text.trim());
	if (!match) return null;
	const [year, month, day] = dateParts([match[1]!, match[2]!, match[3]!], order);
	const hour = hourOf(Number(match[4]), match[8]);
	const minute = Number(match[5]);
	const second = Number(match[6] ?? 0);
	if (year === undefined || month === undefined || day === undefined) return null;
	if (hour === null || minute > 59 || second > 59) return null;
	const ms = Date.UTC(year, month - 1, day, hour, minute, second);
	const back = new Date(ms);
	if (back.getUTCMonth() !== month - 1 || back.getUTCDate() !== day) return null;
	const fraction = match[7] ? Number(`0.${match[7].slice(1)}`) : 0;
	return ms / 1000 + fraction - offsetS(match[9]);
}

function dateParts(parts: readonly [string, string, string], order: DateOrder): number[] {
	const [a, b, c] = parts;
	if (order === 'ymd') return a.length === 4 ? [a, b, c].map(Number) : [];
	if (c.length !== 4 && c.length !== 2) return [];
	const year = c.length === 2 ? 2000 + Number(c) : Number(c);
	return order === 'dmy' ? [year, Number(b), Number(a)] : [year, Number(a), Number(b)];
}

function hourOf(hour: number, half: string | undefined): number | null {
	if (!half) return hour <= 23 ? hour : null;
	if (hour < 1 || hour > 12) return null;
	return (hour % 12) + (half.toLowerCase() === 'pm' ? 12 : 0);
}

function offsetS(zone: string | undefined): number {
	if (!zone || zone.toUpperCase() === 'Z') return 0;
	const sign = zone[0] === '-' ? -1 : 1;
	const digits = zone.slice(1).replace(':', '');
	return sign * (Number(digits.slice(0, 2)) * 3600 + Number(digits.slice(2)) * 60);
}

/** Whether a cell is a date with a time in any order of day and month. */
export function isStamp(text: string): boolean {
	return (['ymd', 'dmy', 'mdy'] as const).some((order) => parseStamp(text, order) !== null);
}

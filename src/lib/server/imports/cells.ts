/** Kinds of cells that tables are made of: how each is read and what it is called when it is refused. */
import { addDays, addWeeks, instantAt, isDay, isWeek, isZone } from '#lib/domain/quantity/week.ts';
import { parseScaled } from '#lib/domain/quantity/decimal.ts';
import { isCurrency, parseMoney, type Currency } from '#lib/domain/quantity/money.ts';
import type { Day, InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import type { ControlStep } from '#lib/domain/trial/settings.ts';
import { parseClock, parseNumber, plainNumber, type NumberStyle } from './number.ts';

/** Wall-clock time of the site, `2026-11-25 14:05`. */
export type LocalTime = string;

export interface CellContext {
	/** Number style of the file. */
	readonly style: NumberStyle;
	/** Days that every day, time and week is moved by; whole weeks. */
	readonly shiftDays: number;
	/** Currency of amounts in a table without a currency column. */
	readonly siteCurrency: Currency | null;
	/** Another cell of the same row by its column's name; '' when there is none. */
	readonly cell: (name: string) => string;
}

export interface CellType<V> {
	/** What is expected, after 'expected': `a day such as 2026-11-25`. */
	readonly describe: string;
	/** Whether its cells tell the file's decimal mark. */
	readonly numeric: boolean;
	/** The value of a trimmed, filled cell; undefined refuses it. */
	readonly parse: (text: string, context: CellContext) => V | undefined;
}

const MAX_TEXT = 2000;

export const text: CellType<string> = {
	describe: `text of at most ${MAX_TEXT} characters`,
	numeric: false,
	parse: (cell) => (cell.length <= MAX_TEXT ? cell : undefined)
};

export const code: CellType<string> = {
	describe: 'a code of at most 40 characters without line breaks',
	numeric: false,
	parse: (cell) => (cell.length <= 40 && !/[\r\n\t]/.test(cell) ? cell : undefined)
};

export function choice<const T extends string>(allowed: readonly T[]): CellType<T> {
	return {
		describe: `one of ${allowed.join(', ')}`,
		numeric: false,
		parse: (cell) => allowed.find((each) => each.toLowerCase() === cell.toLowerCase())
	};
}

export const yesNo: CellType<boolean> = {
	describe: 'yes or no',
	numeric: false,
	parse: (cell) => ({ yes: true, no: false })[cell.toLowerCase()]
};

/** A decimal kept as an integer of `10 ** -decimals`, within limits given in the cell's own unit. */
function scaled(decimals: number, from: number, to: number, unit: string): CellType<number> {
	const places = decimals === 0 ? 'a whole number' : `a number with at most ${decimals} decimals`;
	const factor = 10 ** decimals;
	return {
		describe: `${places} from ${from} to ${to}${unit && ` ${unit}`}`,
		numeric: true,
		parse: (cell, { style }) => {
			const plain = plainNumber(cell, style);
			const read = plain === null ? null : parseScaled(plain, decimals, '');
			if (!read?.ok || read.value < from * factor || read.value > to * factor) return undefined;
			return read.value;
		}
	};
}

export function whole(from: number, to: number, unit = ''): CellType<number> {
	return scaled(0, from, to, unit);
}

/** A measured number, kept as it is. */
export function real(from: number, to: number, unit: string): CellType<number> {
	return {
		describe: `a number from ${from} to ${to} ${unit}`.trim(),
		numeric: true,
		parse: (cell, { style }) => {
			const value = parseNumber(cell, style);
			return value !== null && value >= from && value <= to ? value : undefined;
		}
	};
}

/** Kilograms, to the gram; the value is grams. */
export function kg(fromKg: number, toKg: number): CellType<number> {
	return scaled(3, fromKg, toKg, 'kg');
}

/** Kilowatt-hours, to the watt-hour; the value is watt-hours. */
export const kwh: CellType<number> = scaled(3, 0, 100_000, 'kWh');

/** Price in major units of a currency, kept in ten-thousandths. */
export const priceE4: CellType<number> = scaled(4, 0, 1_000_000, '');
export const differentialE4: CellType<number> = scaled(4, -1_000_000, 1_000_000, '');

/** Exchange rate, kept in millionths. */
export const rateE6: CellType<number> = scaled(6, 0.000001, 1_000_000, '');

/** Per cent kept in millionths: 0.3 % is 3000. */
export const pctToPpm: CellType<number> = scaled(4, 0, 100, '%');

/** Per cent kept in thousandths: 12.5 % is 125. */
export const pctToPermille: CellType<number> = scaled(1, 0, 100, '%');

/** An amount, not negative, in minor units of the row's `currency` column, else of the site's currency. */
export const minor: CellType<number> = {
	describe: 'an amount of at least 0 with no more decimals than its currency has',
	numeric: true,
	parse: (cell, context) => {
		const own = context.cell('currency').trim().toUpperCase();
		const currency = own || context.siteCurrency;
		const plain = plainNumber(cell, context.style);
		if (!currency || !isCurrency(currency) || plain === null) return undefined;
		const amount = parseMoney(plain, currency);
		return amount.ok && amount.value.minor >= 0 ? amount.value.minor : undefined;
	}
};

/** An amount in minor units of the site's currency, whatever the row's own currency. */
export const siteMinor: CellType<number> = {
	...minor,
	parse: (cell, context) => minor.parse(cell, { ...context, cell: () => '' })
};

export const currency: CellType<Currency> = {
	describe: 'an ISO 4217 currency such as GBP',
	numeric: false,
	parse: (cell) => (isCurrency(cell.toUpperCase()) ? cell.toUpperCase() : undefined)
};

export const zone: CellType<string> = {
	describe: 'an IANA time zone such as Europe/London',
	numeric: false,
	parse: (cell) => (isZone(cell) ? cell : undefined)
};

export const country: CellType<string> = {
	describe: 'an ISO 3166-1 country of two letters such as CO',
	numeric: false,
	parse: (cell) => (/^[a-z]{2}$/i.test(cell) ? cell.toUpperCase() : undefined)
};

export const day: CellType<Day> = {
	describe: 'a day such as 2026-11-25',
	numeric: false,
	parse: (cell, { shiftDays }) => (isDay(cell) ? addDays(cell, shiftDays) : undefined)
};

export const week: CellType<IsoWeek> = {
	describe: 'an ISO week such as 2026-W48',
	numeric: false,
	parse: (cell, { shiftDays }) => (isWeek(cell) ? addWeeks(cell, shiftDays / 7) : undefined)
};

export const localTime: CellType<LocalTime> = {
	describe: 'a local time such as 2026-11-25 14:05',
	numeric: false,
	parse: (cell, { shiftDays }) => {
		const match = /^(\d{4}-\d{2}-\d{2})[ T](\d{2}:\d{2})$/.exec(cell);
		if (!match || !isDay(match[1]!) || minutesOf(match[2]!) === undefined) return undefined;
		return `${addDays(match[1]!, shiftDays)} ${match[2]}`;
	}
};

/** The instant of a local time in a zone; the first of two where the clock goes back. */
export function instantOf(local: LocalTime, timeZone: string): InstantMs {
	return instantAt(local.slice(0, 10), minutesOf(local.slice(11))!, timeZone);
}

/** A time of the day as minutes after midnight; 24:00 is the end of the day. */
export const clockMin: CellType<number> = {
	describe: 'a time of the day such as 06:30',
	numeric: false,
	parse: (cell) => (cell === '24:00' ? 1440 : minutesOf(cell))
};

function minutesOf(clock: string): number | undefined {
	const match = /^([01]?\d|2[0-3]):([0-5]\d)$/.exec(clock);
	return match ? Number(match[1]) * 60 + Number(match[2]) : undefined;
}

/** Minutes and seconds from charge, in seconds. */
export const roastClock: CellType<number> = {
	describe: 'a time from charge such as 5:54',
	numeric: false,
	parse: (cell) => {
		const seconds = parseClock(cell);
		return seconds !== null && seconds >= 0 && seconds <= 7200 ? seconds : undefined;
	}
};

/** `0:00 60; 4:30 75`: time from charge and per cent, times rising. */
export const steps: CellType<readonly ControlStep[]> = {
	describe: 'steps of time and per cent with rising times, such as 0:00 60; 4:30 75',
	numeric: false,
	parse: (cell, context) => {
		const parts = cell.split(';').map((part) => part.trim().split(/\s+/));
		const read: ControlStep[] = [];
		for (const [time = '', share = '', rest] of parts) {
			const atS = roastClock.parse(time, context);
			const pct = parseNumber(share.replace(/%$/, ''), context.style);
			const last = read.at(-1);
			if (atS === undefined || pct === null || pct < 0 || pct > 100) return undefined;
			if (rest !== undefined || (last && atS <= last.atS)) return undefined;
			read.push({ atS, pct });
		}
		return read;
	}
};

/** Numbers apart by semicolons. */
export const numbers: CellType<readonly number[]> = {
	describe: 'numbers apart by semicolons, such as 7.25;7.5',
	numeric: false,
	parse: (cell, { style }) => {
		const values = cell.split(';').map((part) => parseNumber(part, style));
		return values.every((value) => value !== null) ? values : undefined;
	}
};

/** Codes apart by semicolons, each once or not as whoever reads them asks. */
export const codes: CellType<readonly string[]> = {
	describe: 'codes apart by semicolons, such as HR-150; HR-151',
	numeric: false,
	parse: (cell, context) => {
		const values = cell.split(';').map((part) => code.parse(part.trim(), context));
		return values.every((value) => value !== undefined && value !== '')
			? (values as string[])
			: undefined;
	}
};

/** A file beside the table: a relative path that stays below it. */
export const filePath: CellType<string> = {
	describe: 'a file name below the folder of the table, such as logs/A-1.csv',
	numeric: false,
	parse: (cell) => {
		const parts = cell.split('/');
		const safe = parts.every((part) => part !== '' && part !== '.' && part !== '..');
		return safe && cell.length <= 300 && !/[\\:\0\r\n]/.test(cell) ? cell : undefined;
	}
};

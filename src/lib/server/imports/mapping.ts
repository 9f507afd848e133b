/**
 * How a log file is understood: its dialect and what each column is. The preview shows this object, the
 * user corrects it, the commit reads the file by it, and it is remembered for the next file of its shape.
 * It is plain JSON.
 */
import {
	CHANNELS,
	MARKS,
	type Channel,
	type LogKind,
	type MarkName
} from '#lib/domain/curve/log.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { DELIMITERS } from './csv.ts';
import { ENCODINGS, type Encoding } from './decode.ts';
import type { Dialect } from './dialect.ts';
import { UNITS, type Unit } from './words.ts';

export type ColumnUse = Channel | 'time' | 'mark' | 'ignore';
export const COLUMN_USES: readonly ColumnUse[] = ['time', ...CHANNELS, 'mark', 'ignore'];

const TEMPERATURE: readonly Unit[] = ['C', 'F'];
const SHARE: readonly Unit[] = ['%', '0-1'];

/** The units each use can be read in, the one kept inside first. */
export const UNITS_OF: Readonly<Record<ColumnUse, readonly Unit[]>> = {
	time: ['s', 'mm:ss', 'timestamp', 'min', 'ms'],
	beanC: TEMPERATURE,
	exhaustC: TEMPERATURE,
	inletC: TEMPERATURE,
	drumC: TEMPERATURE,
	sensorC: TEMPERATURE,
	humidityRhPct: SHARE,
	humidityAbsGM3: ['g/m3'],
	humidityRatioGKg: ['g/kg', 'kg/kg'],
	airFlowGS: ['g/s', 'kg/h'],
	fanPct: SHARE,
	gasPct: SHARE,
	airPct: SHARE,
	drumRpm: ['rpm'],
	mark: ['words', 'flag'],
	ignore: []
};

export interface ColumnMapping {
	/** Counts from 0. */
	readonly index: number;
	/** As it stands in the file; '' where there is none. */
	readonly heading: string;
	readonly use: ColumnUse;
	/** One of `UNITS_OF[use]`; null for an ignored column. */
	readonly unit: Unit | null;
	/** For a mark column of flags (0/1, x): which mark it sets. Null when the words say it. */
	readonly mark: MarkName | null;
}

export interface LogMapping {
	readonly version: 1;
	readonly shape: string;
	readonly kind: LogKind;
	readonly encoding: Encoding;
	readonly dialect: Dialect;
	readonly columns: readonly ColumnMapping[];
}

/** A mapping that a user confirmed, kept by the shape of the file. */
export interface MappingMemory {
	readonly shape: string;
	readonly mapping: LogMapping;
}

/** What a mapping must have before a file can be read by it; empty when it is complete. */
export function mappingProblems(mapping: LogMapping): Problem[] {
	const problems: Problem[] = [];
	const say = (path: string, message: string) => problems.push({ path, message });
	const used = (use: ColumnUse) => mapping.columns.filter((column) => column.use === use);
	const times = used('time');
	if (times.length !== 1)
		say('time', `found ${times.length} columns used as time, expected exactly one`);
	for (const channel of CHANNELS) {
		const columns = used(channel);
		if (columns.length > 1)
			say(
				channel,
				`found ${columns.map(columnName).join(' and ')} used as ${channel}, expected one`
			);
	}
	if (!mapping.columns.some((column) => (CHANNELS as readonly string[]).includes(column.use)))
		say('columns', 'found no temperature, humidity or setting column, expected at least one');
	for (const column of mapping.columns) {
		const units = UNITS_OF[column.use];
		if (units.length > 0 && (column.unit === null || !units.includes(column.unit)))
			say(
				columnName(column),
				`found unit ${column.unit ?? 'none'} for ${column.use}, expected ${units.join(' or ')}`
			);
		if (column.use === 'mark' && column.unit === 'flag' && column.mark === null)
			say(columnName(column), `found no mark for a flag column, expected ${MARKS.join(' or ')}`);
	}
	return problems;
}

/** `column 'RH'`, or `column 3` without a heading. */
export function columnName(column: { readonly index: number; readonly heading: string }): string {
	const heading = column.heading.trim();
	return heading ? `column '${heading}'` : `column ${column.index + 1}`;
}

/**
 * Reads a mapping back from JSON (text or parsed value), whoever wrote it: every field is checked, and the
 * rules of `mappingProblems` hold for what is returned.
 */
export function parseMapping(json: unknown): Outcome<LogMapping> {
	let value = json;
	if (typeof json === 'string') {
		try {
			value = JSON.parse(json);
		} catch {
			return bad({ path: 'mapping', message: 'found text that is not JSON, expected a mapping' });
		}
	}
	const checks = new Fields(value, 'mapping');
	const mapping = readMapping(checks);
	if (checks.problems.length > 0) return { ok: false, problems: checks.problems };
	const problems = mappingProblems(mapping);
	return problems.length > 0 ? { ok: false, problems } : good(mapping);
}

function readMapping(fields: Fields): LogMapping {
	return {
		version: fields.oneOf('version', [1] as const),
		shape: fields.text('shape', 200),
		kind: fields.oneOf('kind', ['sample', 'drum'] as const),
		encoding: fields.oneOf('encoding', ENCODINGS),
		dialect: readDialect(fields.inner('dialect')),
		columns: fields.list('columns', 500).map(readColumn)
	};
}

function readDialect(fields: Fields): Dialect {
	const dialect: Dialect = {
		delimiter: fields.oneOf('delimiter', DELIMITERS),
		decimal: fields.oneOf('decimal', ['.', ','] as const),
		thousands: fields.oneOf('thousands', ['', ',', '.', ' ', "'"] as const),
		decimalSure: fields.oneOf('decimalSure', [true, false] as const),
		headingRow: fields.wholeOrNull('headingRow'),
		unitsRow: fields.wholeOrNull('unitsRow'),
		firstDataRow: fields.whole('firstDataRow')
	};
	if (dialect.decimal === dialect.thousands)
		fields.say('thousands', `found '${dialect.thousands}' for both decimal and thousands`);
	return dialect;
}

function readColumn(fields: Fields): ColumnMapping {
	return {
		index: fields.whole('index'),
		heading: fields.text('heading', 20_000),
		use: fields.oneOf('use', COLUMN_USES),
		unit: fields.oneOf('unit', [null, ...UNITS]),
		mark: fields.oneOf('mark', [null, ...MARKS])
	};
}

/** Reads fields of an unknown value and collects what is wrong with them; never throws. */
class Fields {
	readonly problems: Problem[];
	readonly #path: string;
	readonly #record: Record<string, unknown>;

	constructor(value: unknown, path: string, problems: Problem[] = []) {
		this.problems = problems;
		this.#path = path;
		const isRecord = typeof value === 'object' && value !== null && !Array.isArray(value);
		this.#record = isRecord ? (value as Record<string, unknown>) : {};
		if (!isRecord) problems.push({ path, message: `found ${shown(value)}, expected an object` });
	}

	say(name: string, message: string): void {
		this.problems.push({ path: `${this.#path}.${name}`, message });
	}

	oneOf<T>(name: string, allowed: readonly T[]): T {
		const value = this.#get(name);
		const hit = allowed.find((each) => each === value);
		if (hit !== undefined) return hit;
		this.say(name, `found ${shown(value)}, expected ${allowed.map(shown).join(' or ')}`);
		return allowed[0]!;
	}

	text(name: string, maxLength: number): string {
		const value = this.#get(name);
		if (typeof value === 'string' && value.length <= maxLength) return value;
		this.say(name, `found ${shown(value)}, expected text of at most ${maxLength} characters`);
		return '';
	}

	whole(name: string): number {
		const value = this.#get(name);
		if (typeof value === 'number' && Number.isInteger(value) && value >= 0 && value <= 1e6)
			return value;
		this.say(name, `found ${shown(value)}, expected a whole number from 0`);
		return 0;
	}

	wholeOrNull(name: string): number | null {
		return this.#get(name) === null ? null : this.whole(name);
	}

	inner(name: string): Fields {
		return new Fields(this.#get(name), `${this.#path}.${name}`, this.problems);
	}

	list(name: string, maxLength: number): Fields[] {
		const value = this.#get(name);
		if (Array.isArray(value) && value.length <= maxLength)
			return value.map((each, i) => new Fields(each, `${this.#path}.${name}[${i}]`, this.problems));
		this.say(name, `found ${shown(value)}, expected a list of at most ${maxLength}`);
		return [];
	}

	#get(name: string): unknown {
		return Object.hasOwn(this.#record, name) ? this.#record[name] : undefined;
	}
}

function shown(value: unknown): string {
	const text = value === undefined ? 'nothing' : (JSON.stringify(value) ?? String(value));
	return text.length > 60 ? `${text.slice(0, 60)}...` : text;
}

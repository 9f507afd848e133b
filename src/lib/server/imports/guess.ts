/**
 * Guesses what each column of a log is. Rules:
 * 1. Time: a heading of time whose values rise, clock readings, or date-times; else the column that always
 *    rises. Exactly one column is time.
 * 2. A heading's words say the channel, its unit (or the units row) says the unit. What a unit can't be
 *    for that channel is not believed.
 * 3. Without a unit, values decide: Fahrenheit when the bean or exhaust temperature passes 290, for all
 *    columns of the file alike; relative humidity from 0 to 100, absolute when it goes above.
 * 4. Without a known heading a guess by values alone is never surer than 0.4.
 * 5. A channel is used once; of two columns the surer one wins and the other is left out, with the reason.
 */
import type { LogKind, MarkName } from '#lib/domain/curve/log.ts';
import type { ColumnFacts } from './facts.ts';
import { UNITS_OF, columnName, type ColumnUse } from './mapping.ts';
import { markOf, speaksOf, type ConceptName, type Unit } from './words.ts';

export interface ColumnGuess {
	readonly index: number;
	readonly heading: string;
	readonly use: ColumnUse;
	readonly unit: Unit | null;
	readonly mark: MarkName | null;
	/** Reason in plain words, data first. */
	readonly why: string;
	/** 0 to 1. */
	readonly sureness: number;
}

type Candidate = Omit<ColumnGuess, 'index' | 'heading'>;

/** One guess a column, in the columns' order. */
export function guessColumns(facts: readonly ColumnFacts[]): ColumnGuess[] {
	const time = pickTime(facts);
	const file: FileFacts = { scale: temperatureScale(facts), humid: facts.some(isHumidity) };
	const guesses = facts.map((column): ColumnGuess => {
		const chosen =
			column === time?.column
				? time.candidate
				: (markCandidate(column) ??
					channelCandidate(column, file) ??
					valueCandidate(column, file.scale) ??
					ignored(unknownReason(column), 0.5));
		return { index: column.index, heading: column.heading, ...chosen };
	});
	return withoutDoubles(guesses);
}

/** A known heading keeps its channel while some cells are numbers, so that the others are shown as faults. */
const SOME = 0.2;

function ignored(why: string, sureness: number): Candidate {
	return { use: 'ignore', unit: null, mark: null, why, sureness };
}

function unknownReason(column: ColumnFacts): string {
	if (column.filled === 0) return 'empty';
	if (column.clockShare > 0.5 || column.stampShare > 0.5) return 'another column of times';
	if (column.numberShare < 0.5) return 'text without known event words';
	return `numbers from ${short(column.min)} to ${short(column.max)}, no known heading`;
}

function short(value: number): string {
	return String(Math.round(value * 100) / 100);
}

// Time

function pickTime(
	facts: readonly ColumnFacts[]
): { column: ColumnFacts; candidate: Candidate } | null {
	let best: { column: ColumnFacts; candidate: Candidate } | null = null;
	for (const column of facts) {
		const candidate = timeCandidate(column);
		if (candidate && candidate.sureness > (best?.candidate.sureness ?? 0))
			best = { column, candidate };
	}
	return best;
}

function timeCandidate(column: ColumnFacts): Candidate | null {
	if (column.filled < 2) return null;
	const named = speaksOf(column.words, 'time') || TIME_UNITS.has(column.unit ?? '');
	const guess = (unit: Unit, sureness: number, why: string): Candidate => ({
		use: 'time',
		unit,
		mark: null,
		why,
		sureness
	});
	if (column.stampShare > 0.9) return guess('timestamp', named ? 0.97 : 0.9, 'dates with times');
	if (column.clockShare > 0.9)
		return guess('mm:ss', named ? 0.95 : 0.85, 'clock readings such as 1:30');
	if (column.numberShare < 0.5) return null;
	const rises = column.risingShare === 1;
	if (named && column.risingShare > 0.9)
		return guess(
			timeUnit(column),
			rises ? 0.95 : 0.7,
			`heading of time, values ${rises ? 'always' : 'mostly'} rise`
		);
	if (!rises || column.filled < 3 || isTemperature(column) || isHumidity(column)) return null;
	const counts = speaksOf(column.words, 'count');
	return guess(
		timeUnit(column),
		counts ? 0.2 : column.words === '' ? 0.4 : 0.25,
		'values always rise'
	);
}

const TIME_UNITS = new Set<string>(['s', 'ms', 'min', 'mm:ss', 'timestamp']);

/** The unit of a numeric time: as the heading says, else by how long the roast would last. */
function timeUnit(column: ColumnFacts): Unit {
	if (column.unit === 's' || column.unit === 'ms' || column.unit === 'min') return column.unit;
	if (/\b(ms|msec|millis\w*)\b/.test(column.words)) return 'ms';
	if (/\bmin(ute[ns]?|utos?|s)?\b/.test(column.words)) return 'min';
	const span = column.last - column.first;
	if (span > 50_000) return 'ms';
	if (span < 45 && !column.wholeNumbers) return 'min';
	return 's';
}

// Marks

function markCandidate(column: ColumnFacts): Candidate | null {
	if (column.filled === 0) {
		if (!speaksOf(column.words, 'event') && markOf(column.heading) === null) return null;
		return ignored('a column for marks, but empty', 0.8);
	}
	const mark = markOf(column.heading);
	if (column.numberShare === 1 && column.distinct <= 2 && column.min >= 0 && column.max <= 1)
		return mark
			? { use: 'mark', unit: 'flag', mark, why: 'heading of a mark, values 0 and 1', sureness: 0.9 }
			: null;
	if (column.numberShare > 0.5) return null;
	if (mark && column.markShare < 0.5)
		return {
			use: 'mark',
			unit: 'flag',
			mark,
			why: 'heading of a mark, a few cells filled',
			sureness: 0.6
		};
	const words = { use: 'mark', unit: 'words', mark: null } as const;
	if (column.markShare > 0.3) return { ...words, why: 'event words in its cells', sureness: 0.9 };
	if (column.markShare > 0)
		return { ...words, why: 'some event words in its cells', sureness: 0.6 };
	return null;
}

// Channels by heading

type Scale = 'C' | 'F';

function channelCandidate(column: ColumnFacts, file: FileFacts): Candidate | null {
	const says = (name: ConceptName) => speaksOf(column.words, name);
	if (column.words === '' && column.unit === null) return null;
	if (column.filled === 0) return ignored('empty', 0.9);
	if (column.numberShare < SOME) return null;
	if (says('derived')) return ignored('derived from other columns; computed here', 0.8);
	if (isTemperature(column)) return temperatureCandidate(column, file);
	if (isHumidity(column)) return humidityCandidate(column);
	if (says('other')) return ignored('not used for readings', 0.7);
	return settingCandidate(column);
}

function isTemperature(column: ColumnFacts): boolean {
	if (column.unit === 'C' || column.unit === 'F') return true;
	if (column.unit !== null && column.unit !== 'min') return false;
	if (speaksOf(column.words, 'temperature')) return true;
	const place = (['bean', 'exhaust', 'inlet', 'drum'] as const).some((name) =>
		speaksOf(column.words, name)
	);
	return place && !speaksOf(column.words, 'humidity') && !isSetting(column);
}

function isSetting(column: ColumnFacts): boolean {
	return (['flow', 'fan', 'gas', 'turning', 'speed', 'other'] as const).some((name) =>
		speaksOf(column.words, name)
	);
}

function isHumidity(column: ColumnFacts): boolean {
	if (column.numberShare < SOME || isTemperature(column)) return false;
	if (column.unit === 'g/m3' || column.unit === 'g/kg' || column.unit === 'kg/kg') return true;
	return speaksOf(column.words, 'humidity');
}

function temperatureCandidate(column: ColumnFacts, file: FileFacts): Candidate {
	const scale = file.scale;
	const says = (name: ConceptName) => speaksOf(column.words, name);
	if (says('setPoint')) return ignored('a set point, not a measured value', 0.7);
	if (says('ambient')) return ignored('temperature of the room', 0.7);
	const unit: Scale = column.unit === 'C' || column.unit === 'F' ? column.unit : scale.unit;
	const stated = column.unit === unit;
	const unitWhy = stated ? `unit ${unit} stated` : `${unit} ${scale.why}`;
	const sure = stated ? 0.95 : 0.95 * scale.sureness;
	const as = (use: ColumnUse, sureness: number, why: string): Candidate => ({
		use,
		unit,
		mark: null,
		why: `${why}; ${unitWhy}`,
		sureness
	});
	if (says('bean')) return as('beanC', sure, 'heading of the beans');
	if (says('humidity')) return as('sensorC', sure, 'heading of the humidity sensor');
	if (says('exhaust')) return as('exhaustC', sure, 'heading of the exhaust');
	if (says('inlet')) return as('inletC', sure, 'heading of the inlet air');
	if (says('drum')) return as('drumC', sure, 'heading of the drum');
	if (says('sensor') && file.humid)
		return as('sensorC', sure * 0.8, 'heading of a sensor, beside a humidity');
	return as('beanC', 0.35, 'a temperature without a place');
}

function humidityCandidate(column: ColumnFacts): Candidate {
	const says = (name: ConceptName) => speaksOf(column.words, name);
	const as = (use: ColumnUse, unit: Unit, sureness: number, why: string): Candidate => ({
		use,
		unit,
		mark: null,
		why,
		sureness
	});
	if (says('ambient')) return ignored('humidity of the room', 0.6);
	if (column.unit === 'g/m3') return as('humidityAbsGM3', 'g/m3', 0.95, 'unit g/m3');
	if (column.unit === 'g/kg' || column.unit === 'kg/kg')
		return as('humidityRatioGKg', column.unit, 0.95, `unit ${column.unit}`);
	const range = `values ${short(column.min)} to ${short(column.max)}`;
	if (says('ratio'))
		return column.max < 0.5
			? as('humidityRatioGKg', 'kg/kg', 0.6, `heading of the humidity ratio, ${range}`)
			: as('humidityRatioGKg', 'g/kg', 0.75, `heading of the humidity ratio, ${range}`);
	if (says('absolute'))
		return as('humidityAbsGM3', 'g/m3', 0.75, `heading of absolute humidity, ${range}`);
	if (column.unit === '%') return as('humidityRhPct', '%', 0.95, 'heading of humidity, unit %');
	if (column.max > 110)
		return as('humidityAbsGM3', 'g/m3', 0.4, `${range}: above what a relative humidity can be`);
	const sure = says('relative') ? 0.9 : 0.6;
	if (column.max <= 1 && column.max > 0)
		return as('humidityRhPct', '0-1', sure * 0.6, `heading of humidity, ${range}`);
	return as('humidityRhPct', '%', sure, `heading of humidity, ${range}`);
}

function settingCandidate(column: ColumnFacts): Candidate | null {
	const says = (name: ConceptName) => speaksOf(column.words, name);
	const as = (use: ColumnUse, why: string): Candidate => settingAs(column, use, why);
	if (column.unit === 'g/s' || column.unit === 'kg/h' || (says('flow') && column.unit !== '%'))
		return as('airFlowGS', 'heading of the air flow');
	if (column.unit === 'rpm' || says('turning'))
		return says('fan')
			? ignored('fan speed in rpm', 0.7)
			: as('drumRpm', 'heading of the drum speed');
	if (says('drum') && says('speed')) return as('drumRpm', 'heading of the drum speed');
	if (says('fan')) return as('fanPct', 'heading of the fan');
	if (says('gas')) return as('gasPct', 'heading of gas or burner');
	if (says('air') || says('flow')) return as('airPct', 'heading of air');
	return null;
}

function settingAs(column: ColumnFacts, use: ColumnUse, why: string): Candidate {
	const allowed = UNITS_OF[use];
	const stated = allowed.find((unit) => unit === column.unit);
	if (column.unit !== null && stated === undefined)
		return ignored(`${why}, but in ${column.unit}; expected ${allowed.join(' or ')}`, 0.6);
	const byValue: Unit =
		allowed[0] === '%' && column.max <= 1 && !column.wholeNumbers ? '0-1' : allowed[0]!;
	const unit = stated ?? byValue;
	const range = `values ${short(column.min)} to ${short(column.max)}`;
	return {
		use,
		unit,
		mark: null,
		why: stated ? `${why}, unit ${unit}` : `${why}, ${range}`,
		sureness: stated ? 0.95 : 0.7
	};
}

// Temperature scale of the whole file

/** What is known of the file as a whole. */
interface FileFacts {
	readonly scale: FileScale;
	readonly humid: boolean;
}

interface FileScale {
	readonly unit: Scale;
	readonly why: string;
	readonly sureness: number;
}

/** Roasts end below 260 C in the bean or exhaust; a bean temperature above 290 can only be Fahrenheit. */
function temperatureScale(facts: readonly ColumnFacts[]): FileScale {
	const temperatures = facts.filter(
		(column) => column.numberShare >= SOME && isTemperature(column)
	);
	const stated = temperatures.find((column) => column.unit === 'C' || column.unit === 'F');
	if (stated)
		return { unit: stated.unit as Scale, why: `as ${columnName(stated)} says`, sureness: 0.9 };
	const placed = temperatures.filter((column) => !speaksOf(column.words, 'inlet'));
	const hottest = Math.max(
		...(placed.length > 0 ? placed : temperatures).map((column) => column.max)
	);
	if (!Number.isFinite(hottest)) return { unit: 'C', why: 'taken as usual', sureness: 0.5 };
	const why = `since values reach ${short(hottest)}`;
	if (hottest > 290) return { unit: 'F', why, sureness: 0.9 };
	return { unit: 'C', why, sureness: hottest > 130 && hottest < 260 ? 0.9 : 0.6 };
}

// Values alone

/** No heading, or one that only numbers the columns. */
const NAMELESS =
	/^(channel|chan|ch|kanal|canal|column|col|spalte|columna|colonne|coluna|input|value|wert|k|x|t)? ?\d*$/;

function valueCandidate(column: ColumnFacts, scale: FileScale): Candidate | null {
	if (column.numberShare < 0.8 || column.filled < 3 || !NAMELESS.test(column.words)) return null;
	const range = `no known heading, values ${short(column.min)} to ${short(column.max)}`;
	if (column.max >= 140 && column.max <= 480 && column.distinct > 10) {
		const unit: Scale = column.max > 290 ? 'F' : scale.unit;
		return { use: 'beanC', unit, mark: null, why: `${range}, like a roast`, sureness: 0.3 };
	}
	if (column.min >= 0 && column.max <= 100 && !column.wholeNumbers && column.distinct > 10)
		return { use: 'humidityRhPct', unit: '%', mark: null, why: `${range}, like %`, sureness: 0.2 };
	return null;
}

// Across columns

function withoutDoubles(guesses: readonly ColumnGuess[]): ColumnGuess[] {
	return guesses.map((guess) => {
		if (guess.use === 'ignore' || guess.use === 'mark') return guess;
		const rival = guesses.find(
			(other) =>
				other.index !== guess.index &&
				other.use === guess.use &&
				(other.sureness > guess.sureness ||
					(other.sureness === guess.sureness && other.index < guess.index))
		);
		if (!rival) return guess;
		const why = `${columnName(rival)} is already ${guess.use}`;
		return { index: guess.index, heading: guess.heading, ...ignored(why, 0.5) };
	});
}

/** Which kind of roast a log is of, and why. */
export interface KindGuess {
	readonly kind: LogKind;
	readonly why: string;
	/** 0 to 1. */
	readonly sureness: number;
}

/** Humidity speaks for a sample roast, gas and drum speed for the drum; else the file's name may tell. */
export function guessKind(guesses: readonly ColumnGuess[], fileName: string): KindGuess {
	const has = (...uses: ColumnUse[]) => guesses.some((guess) => uses.includes(guess.use));
	const humid = has('humidityRhPct', 'humidityAbsGM3', 'humidityRatioGKg');
	const drum = has('gasPct', 'drumRpm', 'drumC');
	if (humid && !drum) return { kind: 'sample', why: 'it has humidity', sureness: 0.9 };
	if (drum && !humid) return { kind: 'drum', why: 'it has gas or drum settings', sureness: 0.9 };
	if (/sample|muster|muestra|amostra|echantillon/i.test(fileName))
		return { kind: 'sample', why: 'the name of the file says so', sureness: 0.7 };
	if (/drum|test|batch|charge|lote/i.test(fileName))
		return { kind: 'drum', why: 'the name of the file says so', sureness: 0.7 };
	if (humid) return { kind: 'drum', why: 'it has humidity and drum settings', sureness: 0.5 };
	return { kind: 'drum', why: 'it has no humidity', sureness: 0.4 };
}

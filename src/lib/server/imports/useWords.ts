/** The uses and units of log columns in plain words, and as choices of one list. */
import type { MarkName } from '#lib/domain/curve/log.ts';
import { MARKS } from '#lib/domain/curve/log.ts';
import { COLUMN_USES, UNITS_OF, type ColumnUse } from './mapping.ts';
import type { Unit } from './words.ts';

export const USE_WORDS: Readonly<Record<ColumnUse, string>> = {
	time: 'time',
	beanC: 'bean temperature',
	exhaustC: 'exhaust temperature',
	inletC: 'inlet temperature',
	drumC: 'drum temperature',
	sensorC: 'temperature at the humidity sensor',
	humidityRhPct: 'relative humidity',
	humidityAbsGM3: 'absolute humidity',
	humidityRatioGKg: 'humidity ratio',
	airFlowGS: 'dry-air flow',
	fanPct: 'fan',
	gasPct: 'gas',
	airPct: 'air',
	drumRpm: 'drum speed',
	mark: 'marks',
	ignore: 'not used'
};

export const MARK_WORDS: Readonly<Record<MarkName, string>> = {
	charge: 'charge',
	colourChange: 'colour change',
	firstCrackEar: 'first crack, heard',
	drop: 'drop'
};

/** What a column is: its use, its unit and, for a column of flags, the mark it sets. */
export interface Meaning {
	readonly use: ColumnUse;
	readonly unit: Unit | null;
	readonly mark: MarkName | null;
}

/** A unit as it is shown: `°C`, `%`, `0 to 1`. */
export function unitWords(unit: Unit | null): string {
	if (unit === null) return '';
	const words: Partial<Record<Unit, string>> = {
		C: '°C',
		F: '°F',
		'0-1': '0 to 1',
		'g/m3': 'g/m³',
		timestamp: 'date and time'
	};
	return words[unit] ?? unit;
}

/** `bean temperature, °F`; `mark: drop`; `not used`. */
export function meaningText({ use, unit, mark }: Meaning): string {
	if (use === 'mark')
		return mark && unit === 'flag' ? `mark: ${MARK_WORDS[mark]}` : 'marks in words';
	return unit === null ? USE_WORDS[use] : `${USE_WORDS[use]}, ${unitWords(unit)}`;
}

/** The meaning as one value of a list; `parseMeaning` reads it back. */
export function meaningValue({ use, unit, mark }: Meaning): string {
	return [use, unit ?? '', unit === 'flag' ? (mark ?? '') : ''].join('|');
}

/** Every meaning a column can have, in the order they are offered. */
export const MEANINGS: readonly Meaning[] = COLUMN_USES.flatMap((use): Meaning[] => {
	if (use === 'ignore') return [{ use, unit: null, mark: null }];
	return UNITS_OF[use].flatMap((unit): Meaning[] =>
		unit === 'flag' ? MARKS.map((mark) => ({ use, unit, mark })) : [{ use, unit, mark: null }]
	);
});

/** The meaning that a value of the list stands for, or null. */
export function parseMeaning(value: string): Meaning | null {
	return MEANINGS.find((meaning) => meaningValue(meaning) === value) ?? null;
}

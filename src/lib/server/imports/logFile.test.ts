import { expect, test } from 'vitest';
import type { Outcome } from '#lib/domain/quantity/problem.ts';
import { remember, sniffLog } from './logFile.ts';
import { parseMapping, type ColumnUse, type LogMapping } from './mapping.ts';
import { readLog, type ParsedLog } from './readLog.ts';
import type { Unit } from './words.ts';

const bytesOf = (text: string) => new TextEncoder().encode(text);

/** Forty rows of an invented roast: bean rises from 60 C by 4 a row, a row every 10 s. */
const lines = (row: (i: number) => string, count = 40) =>
	Array.from({ length: count }, (_, i) => row(i)).join('\n') + '\n';
const fixed = (value: number, decimal: string) => value.toFixed(2).replace('.', decimal);
const clock = (s: number) => `${Math.floor(s / 60)}:${String(s % 60).padStart(2, '0')}`;

function uses(text: string, name = 'a.csv') {
	const preview = sniffLog(bytesOf(text), name);
	return preview.guesses.map(({ use, unit }) => (unit ? `${use} ${unit}` : use));
}

function read(
	text: string,
	change: (mapping: LogMapping) => LogMapping = (m) => m
): Outcome<ParsedLog> {
	const bytes = bytesOf(text);
	const preview = sniffLog(bytes, 'a.csv');
	if (!preview.mapping) return { ok: false, problems: preview.problems };
	return readLog(bytes, change(preview.mapping), 'a.csv');
}

function parsed(text: string): ParsedLog {
	const outcome = read(text);
	if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
	return outcome.value;
}

function faults(text: string): string[] {
	const outcome = read(text);
	return outcome.ok ? [] : outcome.problems.map(({ path, message }) => `${path}: ${message}`);
}

const GOOD = 'time_s,bean_c,humidity_pct\n' + lines((i) => `${i * 10},${60 + i * 4}.5,${20 + i}`);

// Dialects

test.each([
	[',', '.', ''],
	[';', ',', ''],
	[';', '.', ''],
	['\t', ',', ''],
	['\t', '.', ''],
	['|', '.', ''],
	[';', ',', '\ufeff']
])(
	'the same roast with delimiter %j, decimal %j, mark %j reads the same',
	(delimiter, decimal, bom) => {
		const text =
			bom +
			['Time (s)', 'Bean temp (°C)', 'Humidity (%)'].join(delimiter) +
			'\r\n' +
			lines((i) =>
				[i * 10, fixed(60.25 + i * 4, decimal), fixed(20 + i / 3, decimal)].join(delimiter)
			);
		const { log, timeStepS, rows } = parsed(text);
		expect(rows).toBe(40);
		expect(timeStepS).toBe(10);
		expect(log.timeS[39]).toBe(390);
		expect(log.channels.beanC![39]).toBe(216.25);
		expect(log.channels.humidityRhPct![1]).toBeCloseTo(20.33, 10);
	}
);

test('quoted decimal commas in a file of commas', () => {
	const text = 'Zeit,Bohne\n' + lines((i) => `"${i},5","${60 + i},25"`);
	expect(parsed(text).log.channels.beanC![2]).toBe(62.25);
});

test('unquoted decimal commas in a file of commas are refused, not guessed', () => {
	expect(faults('Zeit,Bohne\n' + lines((i) => `${i},5,${60 + i},25`))).toEqual([
		expect.stringContaining('row 1, column 3: found 2 headings above rows of 4 cells')
	]);
});

test('thousands marks are read and a wrong style is refused', () => {
	const text = 'Zeit (ms);Bohne °C\n' + lines((i) => `${i < 1 ? '0' : `${i}.000`};${60 + i},5`);
	const { log } = parsed(text);
	expect(log.timeS[39]).toBe(39);
	expect(sniffLog(bytesOf(text), 'a.csv').dialectText).toContain('decimal comma, thousands point');
});

test('preamble, blank line and a row of units are told from headings and data', () => {
	const text =
		'Roaster: one\nCharge;50\nOut;43\n\nZeit;Bohne;Abluft;rel. Feuchte\nmm:ss;[°C];[°C];%\n' +
		lines((i) => `${clock(i * 10)};${60 + i * 4},5;${50 + i * 4},5;${20 + i},1`);
	const preview = sniffLog(bytesOf(text), 'a.csv');
	expect(preview.headings).toEqual(['Zeit', 'Bohne', 'Abluft', 'rel. Feuchte']);
	expect(preview.preamble.map(({ row }) => row)).toEqual([1, 2, 3]);
	expect(preview.firstRows[0]!.row).toBe(7);
	expect(preview.rowCount).toBe(40);
	expect(uses(text)).toEqual(['time mm:ss', 'beanC C', 'exhaustC C', 'humidityRhPct %']);
	expect(preview.problems).toEqual([]);
});

test('a first line sep=; names the delimiter, and two settings above a table of two columns are no headings', () => {
	const text = 'sep=;\nCharge;50\nTime;Bean\n' + lines((i) => `${i};${60 + i * 4}`);
	expect(sniffLog(bytesOf(text), 'a.csv').headings).toEqual(['Time', 'Bean']);
});

// Guesses

test.each<[string, string, string[]]>([
	[
		'German',
		'Zeit;Bohnentemperatur (°C);Ablufttemperatur (°C);Zuluft (°C);Luftfeuchte (%);Gebläse (%)',
		['time s', 'beanC C', 'exhaustC C', 'inletC C', 'humidityRhPct %', 'fanPct %']
	],
	[
		'Spanish',
		'Tiempo (s);Temp. grano (°C);Temp. salida (°C);Temp. entrada (°C);Humedad relativa (%);Ventilador (%)',
		['time s', 'beanC C', 'exhaustC C', 'inletC C', 'humidityRhPct %', 'fanPct %']
	],
	[
		'French',
		"Temps (s);Température grain (°C);Température sortie (°C);Température entrée d'air (°C);Humidité relative (%);Ventilateur (%)",
		['time s', 'beanC C', 'exhaustC C', 'inletC C', 'humidityRhPct %', 'fanPct %']
	],
	[
		'Portuguese',
		'Tempo (s);Temperatura do grão (°C);Temperatura de saída (°C);Temperatura de entrada (°C);Umidade relativa (%);Ventilador (%)',
		['time s', 'beanC C', 'exhaustC C', 'inletC C', 'humidityRhPct %', 'fanPct %']
	],
	[
		'English, absolute',
		'elapsed_s;bean_c;exhaust_c;inlet_c;abs_humidity_g_m3;air_flow_g_s',
		['time s', 'beanC C', 'exhaustC C', 'inletC C', 'humidityAbsGM3 g/m3', 'airFlowGS g/s']
	],
	[
		'English, ratio and sensor',
		'Time;Bean;Humidity sensor temp;Inlet;Humidity ratio g/kg;Air flow kg/h',
		['time s', 'beanC C', 'sensorC C', 'inletC C', 'humidityRatioGKg g/kg', 'airFlowGS kg/h']
	]
])('%s headings', (_name, headings, expected) => {
	const text =
		headings +
		'\n' +
		lines((i) => `${i * 10};${60 + i * 4};${50 + i * 4};${150 + i};${20 + i};${50}`);
	expect(uses(text)).toEqual(expected);
});

test('Fahrenheit is told by its values for all columns, and converted', () => {
	const text =
		'time;bean;exhaust;RH\n' + lines((i) => `${i * 10};${140 + i * 7};${122 + i * 7};${20 + i}`);
	expect(uses(text)).toEqual(['time s', 'beanC F', 'exhaustC F', 'humidityRhPct %']);
	const { log, notes } = parsed(text);
	expect(log.channels.beanC![0]).toBe(60); // (140 - 32) * 5 / 9
	expect(log.channels.exhaustC![0]).toBe(50); // (122 - 32) * 5 / 9
	expect(notes).toContain("Column 'bean': converted from F to C.");
});

test('a column of a known word in an unknown unit is left out and says why', () => {
	const text = 'time;bean;gas (kPa)\n' + lines((i) => `${i * 10};${60 + i * 4};2.5`);
	const guess = sniffLog(bytesOf(text), 'a.csv').guesses[2]!;
	expect(guess.use).toBe('ignore');
	expect(guess.why).toContain('in kPa; expected % or 0-1');
});

test('without headings values decide, with little sureness', () => {
	const { guesses } = sniffLog(
		bytesOf(lines((i) => `${i},${60 + i * 4}.5,${20 + i / 7}`)),
		'a.csv'
	);
	expect(guesses.map(({ use }) => use)).toEqual(['time', 'beanC', 'humidityRhPct']);
	expect(Math.max(...guesses.map(({ sureness }) => sureness))).toBeLessThanOrEqual(0.4);
});

test('units behind the numbers tell the unit, and a cell in another unit is refused', () => {
	const text = (odd: string) =>
		'time;bean;humidity\n' +
		lines((i) => `${i} s;${i === 9 ? odd : `${140 + i * 7} °F`};${20 + i} g/m3`);
	expect(uses(text('203 °F'))).toEqual(['time s', 'beanC F', 'humidityAbsGM3 g/m3']);
	expect(parsed(text('203 °F')).log.channels.beanC![9]).toBe(95); // (203 - 32) * 5 / 9
	expect(faults(text('95 °C'))).toEqual([
		"a.csv, row 11, column 'bean': found '95 °C', expected a number in F"
	]);
});

test('derived columns and set points are left out', () => {
	const text =
		'time;bean temp;rate of rise;set temp\n' + lines((i) => `${i};${60 + i * 4};${8};${200}`);
	expect(uses(text)).toEqual(['time s', 'beanC C', 'ignore', 'ignore']);
});

test('gas and drum speed make a drum log, humidity a sample log', () => {
	const drum = 'time;bean;gas %;drum rpm\n' + lines((i) => `${i};${60 + i * 4};60;55`);
	expect(sniffLog(bytesOf(drum), 'a.csv').kind.kind).toBe('drum');
	expect(sniffLog(bytesOf(GOOD), 'a.csv').kind.kind).toBe('sample');
});

// Times and marks

test.each<[string, (i: number) => string, Unit]>([
	['mm:ss', (i) => clock(i * 10), 'mm:ss'],
	[
		'h:mm:ss from a clock of the day',
		(i) => `08:${String(30 + Math.floor(i / 6)).padStart(2, '0')}:${i % 6}0`,
		'mm:ss'
	],
	[
		'ISO date-times',
		(i) => `2026-11-25T08:${String(30 + Math.floor(i / 6))}:${i % 6}0Z`,
		'timestamp'
	],
	['day first', (i) => `25.11.2026 08:${String(30 + Math.floor(i / 6))}:${i % 6}0`, 'timestamp'],
	[
		'month first over midnight',
		(i) =>
			`${i < 6 ? '11/11' : '11/12'}/2026 ${i < 6 ? '23:59' : `0:${String(Math.floor(i / 6) - 1).padStart(2, '0')}`}:${i % 6}0`,
		'timestamp'
	],
	['minutes', (i) => ((i * 10) / 60).toFixed(4), 'min'],
	['milliseconds', (i) => String(i * 10_000), 'ms']
])('times as %s become seconds', (_name, time, unit) => {
	const text = 'Time;Bean (°C)\n' + lines((i) => `${time(i)};${60 + i * 4}`);
	expect(uses(text)[0]).toBe(`time ${unit}`);
	const { log } = parsed(text);
	expect(log.timeS[0]).toBe(0);
	expect(log.timeS[39]).toBeCloseTo(390, 1);
});

test('event words become marks, charge is time zero, and rows before it are left out with a note', () => {
	const events: Record<number, string> = {
		2: 'Charge',
		20: 'Yellow',
		30: 'First crack',
		31: 'fan up',
		39: 'Drop'
	};
	const text =
		'Time;Bean;Event\n' + lines((i) => `${clock(i * 10)};${60 + i * 4};${events[i] ?? ''}`);
	const { log, notes } = parsed(text);
	expect(log.marks).toEqual([
		{ name: 'charge', timeS: 0 },
		{ name: 'colourChange', timeS: 180 },
		{ name: 'firstCrackEar', timeS: 280 },
		{ name: 'drop', timeS: 370 }
	]);
	expect(log.timeS[0]).toBe(0);
	expect(log.channels.beanC![0]).toBe(68);
	expect(notes).toContain('2 rows before the charge (20 s) are left out.');
	expect(notes.join()).toContain("'fan up' (row 33)");
});

test('a column of flags marks the row in which it is set first', () => {
	const text =
		'Time;Bean;First crack\n' + lines((i) => `${i * 10};${60 + i * 4};${i >= 30 ? 1 : 0}`);
	expect(parsed(text).log.marks).toEqual([{ name: 'firstCrackEar', timeS: 300 }]);
});

// Refusals

const withRow = (at: number, row: string) => {
	const rows = GOOD.split('\n');
	rows[at - 1] = row;
	return rows.join('\n');
};

test('rule 3: a word in a number cell names file, row, column, found and expected', () => {
	expect(faults(withRow(12, '100,abc,30'))).toEqual([
		"a.csv, row 12, column 'bean_c': found 'abc', expected a number in C (decimal point)"
	]);
});

test('rule 3: time that stands still, goes back or is missing', () => {
	expect(faults(withRow(12, '90,100,30'))).toEqual([
		"a.csv, row 12, column 'time_s': found '90' after '90' in row 11, expected a later time"
	]);
	expect(faults(withRow(12, '5,100,30'))).toEqual([
		"a.csv, row 12, column 'time_s': found '5' after '90' in row 11, expected a later time"
	]);
	expect(faults(withRow(12, ',100,30'))).toEqual([
		"a.csv, row 12, column 'time_s': found nothing, expected a time in s (decimal point)"
	]);
});

test('rule 3: a value no sensor can show, and a decimal comma that slipped in', () => {
	expect(faults(withRow(12, '100,-999,30'))[0]).toContain("found '-999', expected -50 to 800 C");
	expect(faults(withRow(12, '100,"99,5",30'))[0]).toContain("found '99,5', expected a number in C");
	expect(faults(withRow(12, '100,99,5,30'))[0]).toContain(
		"row 12, column 4: found 4 cells ('30' is one too many), expected 3"
	);
});

test('rule 3: at most twenty problems are listed and the rest counted', () => {
	const list = faults('time,bean,rh\n' + lines((i) => `${i},${i < 10 ? i : 'x'},${i}`));
	expect(list).toHaveLength(21);
	expect(list[20]).toBe('a.csv: and 10 more problems like these');
});

test('missing cells are NaN with a note, a wholly empty mapped column is refused', () => {
	const some = read(withRow(12, '100,,30'));
	expect(some.ok && some.value.log.channels.beanC![10]).toBeNaN();
	expect(some.ok && some.value.notes).toContain("Column 'bean_c': 1 of 40 values missing.");
	const text = 'time,bean,rh\n' + lines((i) => `${i},${60 + i},`);
	const asRh = read(text, (mapping) => ({
		...mapping,
		columns: mapping.columns.map((column) =>
			column.index === 2 ? { ...column, use: 'humidityRhPct', unit: '%' } : column
		)
	}));
	expect(!asRh.ok && asRh.problems).toEqual([
		{ path: "a.csv, column 'rh'", message: 'found no value, expected numbers in %' }
	]);
});

test('a file cut off in its last row is refused', () => {
	expect(faults(GOOD.slice(0, -6))[0]).toContain('the file is cut off');
});

test('one column, no rows and a binary file are refused without a mapping', () => {
	for (const text of ['time\n1\n2\n', 'just text', '%PDF-1.7\n'])
		expect(sniffLog(bytesOf(text), 'a.csv')).toMatchObject({ mapping: null, rowCount: 0 });
	expect(faults('time,bean\n')[0]).toContain('found');
});

// Rules 1 and 2: one decision object, remembered

test('rule 1: the preview reads by the mapping it carries, through JSON and back', () => {
	const bytes = bytesOf(GOOD);
	const preview = sniffLog(bytes, 'a.csv');
	const kept = parseMapping(JSON.stringify(preview.mapping));
	expect(kept).toEqual({ ok: true, value: preview.mapping });
	const committed = readLog(bytes, preview.mapping!, 'a.csv');
	expect(committed.ok).toBe(true);
	expect(
		preview.guesses.map(({ index, heading, use, unit, mark }) => ({
			index,
			heading,
			use,
			unit,
			mark
		}))
	).toEqual(preview.mapping!.columns);
	if (!committed.ok) return;
	// What the preview showed of each column is what the commit holds.
	for (const { use, index } of preview.guesses) {
		const shown = preview.firstRows.map(({ cells }) => Number(cells[index]));
		const { log } = committed.value;
		const held = use === 'time' ? log.timeS : log.channels[use as keyof typeof log.channels]!;
		expect([...held.slice(0, shown.length)]).toEqual(shown);
	}
	expect(committed.value.rows).toBe(preview.rowCount);
});

test('rule 1: what a preview finds wrong is what the commit refuses', () => {
	const bytes = bytesOf(withRow(12, '100,abc,30'));
	const preview = sniffLog(bytes, 'a.csv');
	const committed = readLog(bytes, preview.mapping!, 'a.csv');
	expect(!committed.ok && committed.problems).toEqual(preview.problems);
});

test('rule 2: a corrected mapping is used for the next file of that shape, whatever its preamble', () => {
	const corrected = (mapping: LogMapping): LogMapping => ({
		...mapping,
		kind: 'drum',
		columns: mapping.columns.map((column) => ({
			...column,
			...(column.index === 1 ? { use: 'exhaustC' as ColumnUse } : {})
		}))
	});
	const first = sniffLog(bytesOf(GOOD), 'a.csv');
	const memory = remember(corrected(first.mapping!));
	const next = sniffLog(bytesOf('Made by hand\n\n' + GOOD.replace('time_s', 'Time_S')), 'b.csv', [
		memory
	]);
	expect(next.shape).toBe(first.shape);
	expect(next.remembered).toBe(true);
	expect(next.mapping).toMatchObject({ kind: 'drum', dialect: { headingRow: 2, firstDataRow: 3 } });
	expect(next.guesses[1]).toMatchObject({ use: 'exhaustC', unit: 'C', sureness: 1 });
	const outcome = readLog(
		bytesOf('Made by hand\n\n' + GOOD.replace('time_s', 'Time_S')),
		next.mapping!,
		'b.csv'
	);
	expect(outcome.ok && Object.keys(outcome.value.log.channels)).toContain('exhaustC');
});

test('rule 2: other headings, units or delimiter are another shape; other values are not', () => {
	const shape = (text: string) => sniffLog(bytesOf(text), 'a.csv').shape;
	expect(shape(GOOD.replace('bean_c', 'bean_f'))).not.toBe(shape(GOOD));
	expect(shape(GOOD.replaceAll(',', ';'))).not.toBe(shape(GOOD));
	expect(shape(GOOD.replaceAll('.5', '.25'))).toBe(shape(GOOD));
});

test('a mapping of another file is refused', () => {
	const { mapping } = sniffLog(bytesOf(GOOD), 'a.csv');
	const outcome = readLog(bytesOf(GOOD.replace('bean_c', 'inlet_c')), mapping!, 'b.csv');
	expect(!outcome.ok && outcome.problems[0]).toEqual({
		path: 'b.csv, row 1, column 2',
		message: "found heading 'inlet_c', expected 'bean_c': the mapping is of another file"
	});
});

test('parseMapping names each wrong field and never throws', () => {
	const { mapping } = sniffLog(bytesOf(GOOD), 'a.csv');
	const changed = structuredClone(mapping) as unknown as Record<string, unknown>;
	changed['kind'] = 'toast';
	(changed['columns'] as Record<string, unknown>[])[1]!['unit'] = 'kPa';
	const outcome = parseMapping(changed);
	expect(!outcome.ok && outcome.problems.map(({ path }) => path)).toEqual([
		'mapping.kind',
		'mapping.columns[1].unit'
	]);
	for (const json of ['{', 'null', '[]', '7', undefined, { columns: 3 }, { columns: [null] }])
		expect(parseMapping(json).ok).toBe(false);
});

test('two columns for one channel, and none for time, are refused before reading', () => {
	const all = read(GOOD, (mapping) => ({
		...mapping,
		columns: mapping.columns.map((column) => ({ ...column, use: 'beanC', unit: 'C' }))
	}));
	expect(!all.ok && all.problems.map(({ path }) => path)).toEqual(['a.csv, time', 'a.csv, beanC']);
});

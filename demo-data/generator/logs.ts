import { absoluteHumidityGM3 } from '#lib/domain/air/humidity.ts';
import { saturationPressurePa } from '#lib/domain/air/saturation.ts';
import type { Channel, MarkName, RoastLog } from '#lib/domain/curve/log.ts';
import { clock, dayOfStamp, type Stamp } from './calendar.ts';
import { num } from './text.ts';

/** Logs as different loggers would write them. All headings are ours. */

interface Column {
	readonly heading: string;
	readonly cell: (row: number) => string;
}

interface Style {
	readonly delimiter: ',' | ';' | '\t';
	readonly decimalComma: boolean;
	readonly lineEnd: '\n' | '\r\n';
	readonly byteOrderMark: boolean;
	/** Lines above the headings. */
	readonly preamble: readonly string[];
}

const PLAIN: Style = {
	delimiter: ',',
	decimalComma: false,
	lineEnd: '\n',
	byteOrderMark: false,
	preamble: []
};

/** The ways a sample log can be written; the index is kept in the story. */
export function sampleLogText(log: RoastLog, dialect: number, at: Stamp): string {
	switch (dialect) {
		case 1:
			return write(
				{ ...PLAIN, delimiter: ';', decimalComma: true, byteOrderMark: true, lineEnd: '\r\n' },
				log,
				[
					time('Time', log, (seconds) => minutesSeconds(seconds)),
					value('Bean temperature (°C)', log, 'beanC', 1),
					value('Exhaust air (°C)', log, 'exhaustC', 1),
					value('Sensor temperature (°C)', log, 'sensorC', 2),
					value('Relative humidity (%)', log, 'humidityRhPct', 2),
					value('Fan (%)', log, 'fanPct', 0)
				]
			);
		case 2:
			return write({ ...PLAIN, delimiter: '\t' }, log, [
				time('Elapsed seconds', log, (seconds) => num(seconds, 1)),
				fahrenheit('Inlet air °F', log, 'inletC'),
				fahrenheit('Bean °F', log, 'beanC'),
				fahrenheit('Exhaust °F', log, 'exhaustC'),
				fahrenheit('Humidity sensor °F', log, 'sensorC', 2),
				value('RH %', log, 'humidityRhPct', 2),
				value('Fan %', log, 'fanPct', 0)
			]);
		case 3:
			return write(PLAIN, log, [
				time('seconds', log, (seconds) => num(seconds, 1)),
				value('bean_c', log, 'beanC', 1),
				value('exhaust_c', log, 'exhaustC', 1),
				value('humidity_sensor_c', log, 'sensorC', 2),
				absoluteHumidity('absolute humidity (g/m3)', log),
				value('fan_pct', log, 'fanPct', 0)
			]);
		case 4:
			return write({ ...PLAIN, preamble: ['Sample roaster, bench 2', `Begun ${at}`, ''] }, log, [
				time('Timestamp', log, (seconds) => wallClock(at, seconds)),
				value('Inlet air C', log, 'inletC', 1),
				value('Exhaust C', log, 'exhaustC', 1),
				value('Bean C', log, 'beanC', 1),
				value('Humidity sensor C', log, 'sensorC', 2),
				value('Relative humidity %', log, 'humidityRhPct', 2),
				value('Fan %', log, 'fanPct', 0)
			]);
		case 5:
			return write({ ...PLAIN, delimiter: ';' }, log, [
				time('time (s)', log, (seconds) => num(seconds, 1)),
				value('bean temp. (°C)', log, 'beanC', 1),
				value('exhaust temp. (°C)', log, 'exhaustC', 1),
				value('sensor temp. (°C)', log, 'sensorC', 2),
				value('rel. humidity (%)', log, 'humidityRhPct', 2),
				value('fan (%)', log, 'fanPct', 0)
			]);
		default:
			return write(PLAIN, log, [
				time('time_s', log, (seconds) => num(seconds, 1)),
				value('inlet_c', log, 'inletC', 1),
				value('exhaust_c', log, 'exhaustC', 1),
				value('bean_c', log, 'beanC', 1),
				value('sensor_c', log, 'sensorC', 2),
				value('rh_pct', log, 'humidityRhPct', 2),
				value('fan_pct', log, 'fanPct', 0)
			]);
	}
}

/** The small drum's logger writes seconds and points, the large one's clock times and commas. */
export function drumLogText(log: RoastLog, large: boolean): string {
	if (large)
		return write({ ...PLAIN, delimiter: ';', decimalComma: true, lineEnd: '\r\n' }, log, [
			time('Time', log, minutesSeconds),
			value('Bean temperature (°C)', log, 'beanC', 1),
			value('Exhaust air (°C)', log, 'exhaustC', 1),
			value('Inlet air (°C)', log, 'inletC', 0),
			value('Gas (%)', log, 'gasPct', 0),
			value('Air (%)', log, 'airPct', 0),
			value('Drum (rpm)', log, 'drumRpm', 0),
			marks('Event', log)
		]);
	return write(PLAIN, log, [
		time('time_s', log, (seconds) => num(seconds, 0)),
		value('bean_c', log, 'beanC', 1),
		value('exhaust_c', log, 'exhaustC', 1),
		value('inlet_c', log, 'inletC', 0),
		value('gas_pct', log, 'gasPct', 0),
		value('air_pct', log, 'airPct', 0),
		value('drum_rpm', log, 'drumRpm', 0),
		marks('event', log)
	]);
}

function write(style: Style, log: RoastLog, columns: readonly (Column | null)[]): string {
	const kept = columns.filter((column) => column !== null);
	const lines = [...style.preamble, kept.map((column) => column.heading).join(style.delimiter)];
	for (let row = 0; row < log.timeS.length; row++) {
		const cells = kept.map((column) => column.cell(row));
		lines.push(
			(style.decimalComma ? cells.map((cell) => cell.replace('.', ',')) : cells).join(
				style.delimiter
			)
		);
	}
	return `${style.byteOrderMark ? '\ufeff' : ''}${lines.join(style.lineEnd)}${style.lineEnd}`;
}

function time(heading: string, log: RoastLog, text: (seconds: number) => string): Column {
	return { heading, cell: (row) => text(log.timeS[row] ?? NaN) };
}

/** A column of a channel, or null when the log hasn't got it. */
function value(heading: string, log: RoastLog, channel: Channel, decimals: number): Column | null {
	const values = log.channels[channel];
	return values === undefined
		? null
		: { heading, cell: (row) => fixed(values[row] ?? NaN, decimals) };
}

function fahrenheit(heading: string, log: RoastLog, channel: Channel, decimals = 1): Column | null {
	const values = log.channels[channel];
	return values === undefined
		? null
		: { heading, cell: (row) => fixed(((values[row] ?? NaN) * 9) / 5 + 32, decimals) };
}

function absoluteHumidity(heading: string, log: RoastLog): Column {
	const { humidityRhPct, sensorC } = log.channels;
	return {
		heading,
		cell: (row) => {
			const celsius = sensorC?.[row] ?? NaN;
			const vapourPa = ((humidityRhPct?.[row] ?? NaN) / 100) * saturationPressurePa(celsius);
			return fixed(absoluteHumidityGM3(vapourPa, celsius), 3);
		}
	};
}

const MARK_WORDS: Readonly<Record<MarkName, string>> = {
	charge: 'charge',
	colourChange: 'colour change',
	firstCrackEar: 'first crack',
	drop: 'drop'
};

/** Words beside the row nearest to each mark. */
function marks(heading: string, log: RoastLog): Column {
	const words = new Map<number, string>();
	for (const mark of log.marks) {
		let row = 0;
		while (row + 1 < log.timeS.length && (log.timeS[row + 1] ?? Infinity) <= mark.timeS) row += 1;
		words.set(row, MARK_WORDS[mark.name]);
	}
	return { heading, cell: (row) => words.get(row) ?? '' };
}

function fixed(value: number, decimals: number): string {
	return Number.isFinite(value) ? value.toFixed(decimals) : '';
}

function minutesSeconds(seconds: number): string {
	const whole = Math.floor(seconds);
	const minutes = String(Math.floor(whole / 60)).padStart(2, '0');
	return `${minutes}:${String(whole % 60).padStart(2, '0')}`;
}

function wallClock(at: Stamp, seconds: number): string {
	const begun = Number(at.slice(11, 13)) * 60 + Number(at.slice(14, 16));
	const whole = Math.floor(seconds);
	const minute = clock(begun + Math.floor(whole / 60));
	return `${dayOfStamp(at)} ${minute}:${String(whole % 60).padStart(2, '0')}`;
}

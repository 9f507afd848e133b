/**
 * The humidity of a log, whatever way it was logged, as a humidity ratio.
 *
 * Rules:
 * 1. The channel that needs the fewest assumptions is taken: a humidity ratio; relative humidity with
 *    the sensor's own temperature; absolute humidity; relative humidity with the exhaust temperature.
 * 2. A value that the air can't hold, or outside 0 to 200 C, is left out and said, never converted.
 * 3. A sensor that is saturated or stuck is said; a channel that never changes can't be read. (One that
 *    drifts: drift.ts.)
 */
import {
	absoluteHumidityGM3,
	humidityRatioFromAbsoluteGKg,
	humidityRatioFromRhGKg,
	relativeHumidityCeilingPct,
	vapourPressurePa
} from '../air/humidity.ts';
import type { RoastLog } from '../curve/log.ts';
import type { Outcome } from '../quantity/problem.ts';
import { bad, good } from '../quantity/problem.ts';
import { figure, finding, rowsText, type Finding } from './finding.ts';
import type { ReadingInputs } from './reading.ts';

type HumidityChannel = ReadingInputs['humidityFrom'];
type TemperatureChannel = NonNullable<ReadingInputs['humidityTemperatureFrom']>;

export interface HumidityColumn {
	readonly from: HumidityChannel;
	readonly temperatureFrom: TemperatureChannel | null;
	/** One value a sample of the log, g/kg; NaN where missing or impossible. */
	readonly ratioGKg: Float64Array;
	/** Standard deviation of the sample noise of the channel as it was logged, in its own unit. */
	readonly noise: number;
	readonly findings: readonly Finding[];
}

/** More than this share of missing or impossible samples and the curve would be mostly invented. */
const MOST_MISSING = 0.25;
const SATURATED_RH_PCT = 99.5;
const SATURATED_S = 5;
const STUCK_S = 60;

/** The best humidity of the log (rule 1), or why there is none. */
export function humidityOf(log: RoastLog, pressurePa: number): Outcome<HumidityColumn> {
	const source = chooseSource(log);
	if (!source.ok) return source;
	const { from, temperatureFrom } = source.value;
	const values = log.channels[from]!;
	const temperatureC = temperatureFrom === null ? null : log.channels[temperatureFrom]!;
	const ratioGKg = new Float64Array(values.length);
	let missing = 0;
	for (let i = 0; i < values.length; i++) {
		ratioGKg[i] = toRatio(from, values[i]!, temperatureC?.[i] ?? NaN, pressurePa);
		if (Number.isNaN(ratioGKg[i])) missing++;
	}
	const findings = [
		...temperatureFindings(from, temperatureFrom),
		...(missing > 0 ? impossibleFindings(from, values, temperatureC, ratioGKg, pressurePa) : []),
		...sensorFindings(from, values, log.timeS)
	];
	const spread = spreadOf(ratioGKg);
	if (!(missing <= MOST_MISSING * values.length)) {
		return bad(
			{
				path: from,
				message:
					`${values.length - missing} of ${values.length} rows have a usable humidity; expected ` +
					`three in four or more.`
			},
			...findings.map(({ problem }) => problem)
		);
	}
	if (!(spread > 0)) {
		return bad({
			path: from,
			message: `Humidity is ${figure(values.find(Number.isFinite)!)} in every row: the sensor is stuck or not connected.`
		});
	}
	return good({ from, temperatureFrom, ratioGKg, noise: noiseOf(values), findings });
}

function chooseSource(
	log: RoastLog
): Outcome<{ from: HumidityChannel; temperatureFrom: TemperatureChannel | null }> {
	const has = (name: HumidityChannel | TemperatureChannel) =>
		log.channels[name]?.some(Number.isFinite) ?? false;
	const temperatureFrom = has('sensorC') ? 'sensorC' : has('exhaustC') ? 'exhaustC' : null;
	if (has('humidityRatioGKg')) return good({ from: 'humidityRatioGKg', temperatureFrom });
	const relative = has('humidityRhPct');
	const absolute = has('humidityAbsGM3');
	if (!relative && !absolute) {
		return bad({
			path: 'humidityRhPct',
			message:
				'The log has no humidity; expected relative humidity with the temperature at its sensor, ' +
				'absolute humidity, or humidity ratio.'
		});
	}
	if (temperatureFrom === null) {
		return bad({
			path: 'sensorC',
			message:
				'The log has humidity but no temperature at the humidity sensor, nor of the exhaust; ' +
				'expected one of them, since the same humidity means ten times the water 50 C higher.'
		});
	}
	const preferAbsolute = absolute && (!relative || temperatureFrom === 'exhaustC');
	return good({ from: preferAbsolute ? 'humidityAbsGM3' : 'humidityRhPct', temperatureFrom });
}

function toRatio(
	from: HumidityChannel,
	value: number,
	temperatureC: number,
	pressurePa: number
): number {
	if (from === 'humidityRhPct') return humidityRatioFromRhGKg(value, temperatureC, pressurePa);
	if (from === 'humidityAbsGM3') {
		return humidityRatioFromAbsoluteGKg(value, temperatureC, pressurePa);
	}
	return value >= 0 ? value : NaN;
}

/** Absolute humidity, g/m3, at each humidity ratio and temperature. */
export function absoluteFromRatio(
	ratioGKg: Float64Array,
	temperatureC: Float64Array,
	pressurePa: number
): Float64Array {
	const absolute = new Float64Array(ratioGKg.length);
	for (let i = 0; i < absolute.length; i++) {
		const vapourPa = vapourPressurePa(ratioGKg[i]!, pressurePa);
		absolute[i] = absoluteHumidityGM3(vapourPa, temperatureC[i]!);
	}
	return absolute;
}

function temperatureFindings(
	from: HumidityChannel,
	temperatureFrom: TemperatureChannel | null
): Finding[] {
	if (from !== 'humidityRhPct' || temperatureFrom !== 'exhaustC') return [];
	return [
		finding(
			'sensorC',
			'No temperature at the humidity sensor: the exhaust temperature is used, which is wrong if ' +
				'the sensor sits in a cooled stream.',
			0.3
		)
	];
}

/** Rule 2: which rows, what they read and what the air could have held. */
function impossibleFindings(
	from: HumidityChannel,
	values: Float64Array,
	temperatureC: Float64Array | null,
	ratioGKg: Float64Array,
	pressurePa: number
): Finding[] {
	const above: number[] = [];
	const other: number[] = [];
	for (let i = 0; i < values.length; i++) {
		if (!Number.isNaN(ratioGKg[i]!) || !Number.isFinite(values[i]!)) continue;
		const inRange = temperatureC === null || (temperatureC[i]! >= 0 && temperatureC[i]! <= 200);
		(inRange && values[i]! > 0 ? above : other).push(i);
	}
	const findings: Finding[] = [];
	const weight = (rows: number[]) => Math.min(0.8, 0.1 + (3 * rows.length) / values.length);
	if (above.length > 0) {
		const worst = above.reduce((a, b) => (values[b]! > values[a]! ? b : a));
		findings.push(
			finding(
				from,
				`Humidity in ${rowsText(above, values.length)} is more than air can hold` +
					ceilingText(from, values[worst]!, temperatureC?.[worst] ?? NaN, pressurePa) +
					'; those rows are left out.',
				weight(above)
			)
		);
	}
	if (other.length > 0) {
		findings.push(
			finding(
				from,
				`Humidity in ${rowsText(other, values.length)} is below 0, or its temperature is missing ` +
					'or outside 0 to 200 C; those rows are left out.',
				weight(other)
			)
		);
	}
	return findings;
}

function ceilingText(
	from: HumidityChannel,
	value: number,
	temperatureC: number,
	pressurePa: number
): string {
	if (from !== 'humidityRhPct') return '';
	const ceiling = figure(relativeHumidityCeilingPct(temperatureC, pressurePa));
	return `: it reads ${figure(value)} % at ${figure(temperatureC)} C, where at most ${ceiling} % is possible`;
}

/** Rule 3: long runs of one value. */
function sensorFindings(
	from: HumidityChannel,
	values: Float64Array,
	timeS: Float64Array
): Finding[] {
	const findings: Finding[] = [];
	const saturated = longestRun(timeS, (i) => values[i]! >= SATURATED_RH_PCT);
	if (from === 'humidityRhPct' && saturated.seconds >= SATURATED_S) {
		findings.push(
			finding(
				from,
				`The humidity sensor is saturated from ${figure(saturated.fromS)} to ${figure(saturated.toS)} s ` +
					`(${SATURATED_RH_PCT} % or more): what lies above is lost, and it may read wet afterwards.`,
				0.5
			)
		);
	}
	const stuck = longestRun(timeS, (i) => i > 0 && values[i] === values[i - 1]);
	if (stuck.seconds >= STUCK_S) {
		findings.push(
			finding(
				from,
				`The humidity does not change from ${figure(stuck.fromS)} to ${figure(stuck.toS)} s: the ` +
					'sensor was stuck or its resolution is too coarse.',
				0.5
			)
		);
	}
	return findings;
}

function longestRun(timeS: Float64Array, holds: (i: number) => boolean) {
	let best = { fromS: 0, toS: 0, seconds: 0 };
	let start = -1;
	for (let i = 0; i < timeS.length; i++) {
		if (!holds(i)) {
			start = -1;
			continue;
		}
		if (start < 0) start = i;
		const seconds = timeS[i]! - timeS[start]!;
		if (seconds > best.seconds) best = { fromS: timeS[start]!, toS: timeS[i]!, seconds };
	}
	return best;
}

/**
 * Standard deviation of the white noise of a slowly changing series, from its third differences,
 * whose own is sqrt(20) times as large. Missing values are passed over.
 */
export function noiseOf(values: ArrayLike<number>): number {
	let sum = 0;
	let count = 0;
	for (let i = 3; i < values.length; i++) {
		const third = values[i]! - 3 * values[i - 1]! + 3 * values[i - 2]! - values[i - 3]!;
		if (!Number.isFinite(third)) continue;
		sum += Math.abs(third);
		count++;
	}
	return count === 0 ? 0 : ((sum / count) * Math.sqrt(Math.PI / 2)) / Math.sqrt(20);
}

function spreadOf(values: ArrayLike<number>): number {
	let lowest = Infinity;
	let highest = -Infinity;
	for (let i = 0; i < values.length; i++) {
		if (values[i]! < lowest) lowest = values[i]!;
		if (values[i]! > highest) highest = values[i]!;
	}
	return highest - lowest;
}

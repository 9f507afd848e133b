/**
 * Slow drift of the humidity sensor within a roast.
 *
 * Rules:
 * 1. Well after the drop the sensor is back in room air. What it then reads beside the room air that it
 *    started from, in its own unit and at its own temperature, it gained on the way.
 *    Unless a constant offset would show the same: then the log can't tell offset from drift, and says so.
 * 2. A log that ends with the drop says nothing about it; then only the water balance can (balance.ts).
 * 3. What an even drift would have added to the water is told; nothing is taken off, since nobody knows
 *    how it came about in between.
 */
import {
	absoluteHumidityGM3,
	humidityRatioFromAbsoluteGKg,
	humidityRatioFromRhGKg,
	vapourPressurePa
} from '../air/humidity.ts';
import { saturationPressurePa } from '../air/saturation.ts';
import type { RoastLog } from '../curve/log.ts';
import { figure, finding, type Finding } from './finding.ts';
import { dropTimeS } from './grid.ts';
import type { HumidityColumn } from './humidity.ts';
import type { RoomAir } from './room.ts';

/** After so many lags the rest of the roast's vapour has left a first-order sensor: .25 % of it. */
const SETTLED_LAGS = 6;
/** Seconds after the drop within which the air is looked at: later the next roast may have begun. */
const LATEST_S = 240;
const FEWEST_ROWS = 8;
/** Drift that is said, in points of relative humidity; in g/m3 and g/kg it is much the same at 55 C.
 * On simulated roasts without drift less than this is found (`npm run bench`). */
const LEAST = 0.3;

/** Seconds over which the temperature of the start is taken, unless the log has more of them before charge. */
const START_S = 6;
/** Larger offsets are faults that are said already (room.ts); in points, g/m3 or g/kg. */
const MOST_OFFSET = 4;

/** Units of the humidity channels, in words. */
export const HUMIDITY_UNITS = {
	humidityRhPct: 'points of relative humidity',
	humidityAbsGM3: 'g/m3',
	humidityRatioGKg: 'g/kg'
} as const;

/** A drift as the air after the drop shows it. */
export interface Drift {
	/** Reading after the drop less what room air would read, in the channel's unit. */
	readonly by: number;
	readonly unit: string;
	/** The constant offset, in the same unit, that would show the same; null where none would. */
	readonly orOffset: number | null;
	/** The rows that show it, seconds from charge. */
	readonly fromS: number;
	readonly toS: number;
}

/**
 * The drift of a whole log, rows after the drop included (rule 1); null where they are too few, too early
 * or not settled. A drift too small to say is given too.
 */
export function driftOf(
	log: RoastLog,
	{ from, temperatureFrom }: Pick<HumidityColumn, 'from' | 'temperatureFrom'>,
	room: Pick<RoomAir, 'roomGKg' | 'offsetRhPct' | 'offsetIs'>,
	lagS: number,
	pressurePa: number
): Drift | null {
	const values = log.channels[from]!;
	const temperatureC = temperatureFrom === null ? null : log.channels[temperatureFrom]!;
	const dropS = dropTimeS(log);
	const apart: number[] = [];
	const atS: number[] = [];
	for (let i = 0; i < log.timeS.length; i++) {
		const sinceS = log.timeS[i]! - dropS;
		if (sinceS < SETTLED_LAGS * lagS || sinceS > LATEST_S) continue;
		const expected = asRead(from, room.roomGKg, temperatureC?.[i] ?? NaN, pressurePa);
		const by = values[i]! - room.offsetRhPct - expected;
		if (!Number.isFinite(by)) continue;
		apart.push(by);
		atS.push(log.timeS[i]!);
	}
	if (apart.length < FEWEST_ROWS) return null;
	const half = apart.length >> 1;
	const [early, late] = [mean(apart.slice(0, half)), mean(apart.slice(half))];
	if (Math.abs(early - late) > LEAST / 2) return null;
	const by = mean(apart);
	const span = { fromS: atS[0]!, toS: atS.at(-1)! };
	const startTo = Math.max(0, log.timeS[0]! + START_S);
	const startC = temperatureC && meanBetween(log.timeS, temperatureC, -Infinity, startTo);
	const afterC = temperatureC && meanBetween(log.timeS, temperatureC, span.fromS, span.toS);
	const orOffset = offsetShowing(by, room.offsetIs, from, startC ?? NaN, afterC ?? NaN);
	return { by, unit: HUMIDITY_UNITS[from], orOffset, ...span };
}

/**
 * The constant offset that would show the same as a drift. Where the room air came from the log, an offset
 * went into it at the temperature of the start and comes out at that of the end: what is left is the part
 * by which the two differ.
 */
function offsetShowing(
	by: number,
	offsetIs: RoomAir['offsetIs'],
	from: HumidityColumn['from'],
	startC: number,
	afterC: number
): number | null {
	if (offsetIs === 'taken off') return null;
	const left = offsetIs === 'left in' ? 1 : 1 - unitCarried(from, startC, afterC);
	const offset = by / left;
	return Math.abs(offset) <= MOST_OFFSET ? offset : null;
}

/** What a unit of the channel at one temperature is at another, as the same humidity ratio. */
function unitCarried(from: HumidityColumn['from'], startC: number, afterC: number): number {
	if (from === 'humidityRatioGKg') return 1;
	return from === 'humidityRhPct'
		? saturationPressurePa(startC) / saturationPressurePa(afterC)
		: (afterC + 273.15) / (startC + 273.15);
}

function meanBetween(
	timeS: Float64Array,
	values: Float64Array,
	fromS: number,
	toS: number
): number {
	const within = values.filter(
		(value, i) => timeS[i]! >= fromS && timeS[i]! <= toS && Number.isFinite(value)
	);
	return mean([...within]);
}

function mean(values: readonly number[]): number {
	return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** What a channel reads in air of this humidity ratio, in the channel's unit. */
function asRead(
	from: HumidityColumn['from'],
	ratioGKg: number,
	temperatureC: number,
	pressurePa: number
): number {
	if (from === 'humidityRatioGKg') return ratioGKg;
	const vapourPa = vapourPressurePa(ratioGKg, pressurePa);
	return from === 'humidityRhPct'
		? (100 * vapourPa) / saturationPressurePa(temperatureC)
		: absoluteHumidityGM3(vapourPa, temperatureC);
}

/**
 * Humidity ratio, g/kg, that a drift growing evenly from nought at charge to one unit of the channel at the
 * drop has added in each row of a log that ends there.
 */
export function addedByUnitDrift(
	log: RoastLog,
	column: Pick<HumidityColumn, 'from' | 'temperatureFrom'>,
	pressurePa: number
): Float64Array {
	const { from, temperatureFrom } = column;
	const temperatureC = temperatureFrom === null ? null : log.channels[temperatureFrom]!;
	const lastS = log.timeS.at(-1)!;
	return log.timeS.map((timeS, i) => {
		const share = Math.max(0, timeS / lastS);
		const celsius = temperatureC?.[i] ?? NaN;
		if (from === 'humidityRhPct') return share * humidityRatioFromRhGKg(1, celsius, pressurePa);
		return from === 'humidityAbsGM3'
			? share * humidityRatioFromAbsoluteGKg(1, celsius, pressurePa)
			: share;
	});
}

/** What is said of a drift (rule 3); `unitShare` is the share of the released water that a drift of one
 * unit would have added. */
export function driftFindings(drift: Drift | null, unitShare: number): Finding[] {
	if (drift === null || !(Math.abs(drift.by) >= LEAST)) return [];
	const { by, unit, orOffset } = drift;
	const share = Math.abs(by) * unitShare;
	const cause =
		orOffset === null
			? 'it drifted.'
			: `offset or drift, the log can't tell: ${figure(Math.abs(orOffset))} ${unit} too ` +
				`${orOffset > 0 ? 'high' : 'low'} from the start would show the same.`;
	const message =
		`From ${figure(drift.fromS)} to ${figure(drift.toS)} s, after the drop, the humidity sensor reads ` +
		`${figure(Math.abs(by))} ${unit} ${by > 0 ? 'above' : 'below'} the room air that it ` +
		`started from: ${cause} If it drifted evenly, about ${figure(100 * share)} % of the water ` +
		`${by > 0 ? 'in this reading was never there' : 'is missing in this reading'}. Nothing is taken ` +
		`${by > 0 ? 'off' : 'on'}: check the sensor${orOffset === null ? '' : ", and give the room's humidity"}.`;
	return [finding('drift', message, Math.min(0.5, 0.05 + share))];
}

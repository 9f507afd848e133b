/**
 * The room air that the roast starts from, and what it says about the humidity sensor: at charge the
 * beans are cold, so the sensor should show the room.
 */
import { humidityRatioFromRhGKg, humidityRatioGKg, vapourPressurePa } from '../air/humidity.ts';
import { saturationPressurePa } from '../air/saturation.ts';
import type { RoastLog } from '../curve/log.ts';
import { figure, finding, type Finding } from './finding.ts';
import type { HumidityColumn } from './humidity.ts';

/** Seconds at charge over which the room's humidity is taken. */
const ROOM_S = 6;
/** Offsets of relative humidity that are taken off: smaller are noise, larger a fault. Points. */
const OFFSET_RH = { least: 0.15, most: 4 } as const;
/** Disagreement of room and sensor that is said when it can't be taken off, g/kg. */
const DISAGREE_GKG = 1;

export interface RoomAir {
	/** What the release is counted from, g/kg. */
	readonly roomGKg: number;
	/** The log's humidity ratio, a sample each, with the sensor's offset taken off. */
	readonly ratioGKg: Float64Array;
	/** The offset that was taken off, points of relative humidity; 0 where none was. */
	readonly offsetRhPct: number;
	/** Where a constant offset of the sensor went: taken off the log (or too small to), left in it beside a
	 * room air that was given, or gone into a room air taken from the log itself. */
	readonly offsetIs: 'taken off' | 'left in' | 'in the room';
	readonly findings: readonly Finding[];
}

/**
 * Room air as given, else from the log's first seconds. Where it is given and the log has relative
 * humidity, a constant offset of the sensor shows at charge and is taken off every row.
 */
export function roomAir(
	log: RoastLog,
	column: HumidityColumn,
	givenGKg: number | null,
	pressurePa: number
): RoomAir {
	const start = startOf(log.timeS, column.ratioGKg);
	const shownGKg = start.reduce((sum, i) => sum + column.ratioGKg[i]!, 0) / start.length;
	const asLogged = { ratioGKg: column.ratioGKg, offsetRhPct: 0 };
	if (givenGKg === null) {
		return { roomGKg: shownGKg, ...asLogged, offsetIs: 'in the room', findings: [] };
	}
	const temperatureC = column.temperatureFrom && log.channels[column.temperatureFrom];
	if (column.from === 'humidityRhPct' && temperatureC) {
		const startC = start.reduce((sum, i) => sum + temperatureC[i]!, 0) / start.length;
		const difference =
			vapourPressurePa(shownGKg, pressurePa) - vapourPressurePa(givenGKg, pressurePa);
		const offset = (100 * difference) / saturationPressurePa(startC);
		if (Math.abs(offset) < OFFSET_RH.least) {
			return { roomGKg: givenGKg, ...asLogged, offsetIs: 'taken off', findings: [] };
		}
		if (Math.abs(offset) <= OFFSET_RH.most) {
			const values = log.channels.humidityRhPct!;
			const ratioGKg = column.ratioGKg.map((ratio, i) =>
				Number.isNaN(ratio) ? NaN : withoutOffset(values[i]! - offset, temperatureC[i]!, pressurePa)
			);
			const findings = [offsetFinding(offset, givenGKg)];
			const known = { offsetRhPct: offset, offsetIs: 'taken off' } as const;
			return { roomGKg: givenGKg, ratioGKg, ...known, findings };
		}
	}
	const findings =
		Math.abs(shownGKg - givenGKg) > DISAGREE_GKG ? [disagreement(shownGKg, givenGKg)] : [];
	return { roomGKg: givenGKg, ...asLogged, offsetIs: 'left in', findings };
}

function withoutOffset(rhPct: number, temperatureC: number, pressurePa: number): number {
	return rhPct < 0
		? humidityRatioGKg(0, pressurePa)
		: humidityRatioFromRhGKg(rhPct, temperatureC, pressurePa);
}

function offsetFinding(offset: number, givenGKg: number): Finding {
	return finding(
		'humidityRhPct',
		`At charge the sensor reads ${figure(Math.abs(offset))} points of relative humidity ` +
			`${offset > 0 ? 'above' : 'below'} the room's ${figure(givenGKg)} g/kg: that much is taken ` +
			`${offset > 0 ? 'off' : 'on'} in every row. Calibrate the sensor, or check the room's figure.`,
		Math.min(0.3, 0.05 + 0.05 * Math.abs(offset))
	);
}

function disagreement(shownGKg: number, givenGKg: number): Finding {
	return finding(
		'roomHumidityGKg',
		`At charge the log shows ${figure(shownGKg)} g/kg, but the room is given as ${figure(givenGKg)} ` +
			'g/kg: sensor and room should agree while the beans are cold. The given figure is used.',
		0.3
	);
}

/** Places of the samples before charge, or of the first seconds; three at least, where there are. */
function startOf(timeS: Float64Array, ratioGKg: Float64Array): number[] {
	const present: number[] = [];
	for (let i = 0; i < timeS.length; i++) if (!Number.isNaN(ratioGKg[i]!)) present.push(i);
	const before = present.filter((i) => timeS[i]! < 0);
	if (before.length >= 3) return before;
	const from = timeS[present[0]!]!;
	const first = present.filter((i) => timeS[i]! <= from + ROOM_S);
	return first.length >= 3 ? first : present.slice(0, 3);
}

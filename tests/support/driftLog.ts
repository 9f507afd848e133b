import { simulateSample, type SampleRoast } from '#demo/simulate.ts';
import { vapourPressurePa } from '#lib/domain/air/humidity.ts';
import { saturationPressurePa } from '#lib/domain/air/saturation.ts';
import type { Channel } from '#lib/domain/curve/log.ts';
import { LOT_KINDS } from '#lib/domain/lot/lot.ts';
import { evenNoise } from './sampleLog.ts';

/** Seconds over which the housing of the sensor cools after the drop. */
const COOLS_S = 60;
const ROOM_SENSOR_C = 44;

/**
 * A simulated sample roast whose logger ran on for `afterS` seconds after the drop, in room air, and whose
 * humidity sensor drifted evenly by `driftRhPct` points from charge to drop and kept it.
 */
export function driftedRoast(i: number, driftRhPct: number, afterS: number): SampleRoast {
	const kind = LOT_KINDS[i % LOT_KINDS.length]!;
	const profile = (['usual', 'hotter', 'cooler'] as const)[i % 3]!;
	const roast = simulateSample({ kind, profile, seed: `drift, held back, ${i}` });
	const { timeS, channels } = roast.log;
	const dropS = timeS.at(-1)!;
	const rows = timeS.length + afterS;
	const longer = Object.fromEntries(
		Object.entries(channels).map(([name, values]) => {
			const column = new Float64Array(rows).fill(values.at(-1)!);
			column.set(values);
			return [name, column];
		})
	) as Partial<Record<Channel, Float64Array>>;
	const { humidityRhPct, sensorC } = longer as Record<'humidityRhPct' | 'sensorC', Float64Array>;
	const noise = evenNoise(roast.noiseRhPct);
	for (let s = 1; s <= afterS; s++) {
		const row = timeS.length - 1 + s;
		const hotter = sensorC[timeS.length - 1]! - ROOM_SENSOR_C;
		sensorC[row] = ROOM_SENSOR_C + hotter * Math.exp(-s / COOLS_S);
		const ratioGKg =
			roast.roomHumidityGKg + roast.truth.humidityRiseGKg * Math.exp(-s / roast.lagS);
		const vapourPa = vapourPressurePa(ratioGKg, roast.pressurePa);
		humidityRhPct[row] = (100 * vapourPa) / saturationPressurePa(sensorC[row]) + noise();
	}
	for (let row = 0; row < rows; row++) {
		humidityRhPct[row]! += driftRhPct * Math.min(1, row / (timeS.length - 1));
	}
	const longTimeS = Float64Array.from({ length: rows }, (_, row) =>
		row < timeS.length ? timeS[row]! : dropS + row - timeS.length + 1
	);
	return { ...roast, log: { ...roast.log, timeS: longTimeS, channels: longer } };
}

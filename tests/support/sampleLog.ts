/**
 * A sample log built by hand for unit tests: a smooth base release, one bell of cracking with the
 * steam time and depletion that the reading believes in, a lagged sensor. No physics; the simulator in
 * `demo-data/generator` has that. Everything is even and without noise unless asked for.
 */
import { saturationPressurePa } from '#lib/domain/air/saturation.ts';
import { vapourPressurePa } from '#lib/domain/air/humidity.ts';
import type { Channel, Mark, RoastLog } from '#lib/domain/curve/log.ts';
import { BURST_MODEL, burstShape } from '#lib/domain/release/burst.ts';
import { lagged } from '#lib/domain/release/lag.ts';
import type { ReadingContext } from '#lib/domain/release/reading.ts';

export interface SampleShape {
	readonly seconds?: number;
	/** Water of the burst, g; the base reaches about .016 g/s. */
	readonly burstG?: number;
	/** The half-cracked moment. */
	readonly crackS?: number;
	readonly spreadS?: number;
	readonly lagS?: number;
	readonly roomGKg?: number;
	readonly flowGS?: number;
	/** Flow over flow at charge. */
	readonly flowFactor?: (seconds: number) => number;
	/** Standard deviation of the noise, points of RH. */
	readonly noiseRhPct?: number;
	readonly offsetRhPct?: number;
	readonly extra?: Partial<Record<Channel, Float64Array>>;
	readonly without?: readonly Channel[];
	readonly marks?: readonly Mark[];
}

export const PRESSURE_PA = 101_325;

/** Release of the base, g/s: rises slowly, then faster, then levels off. */
export function baseGS(seconds: number): number {
	return 0.016 / (1 + Math.exp(-(seconds - 230) / 55));
}

/** The log of a shape, a row a second. */
export function sampleLog(shape: SampleShape = {}): RoastLog {
	const { seconds = 420, burstG = 0.35, crackS = 330, spreadS = 12 } = shape;
	const { lagS = 0, roomGKg = 8, flowGS = 4, flowFactor = () => 1 } = shape;
	const timeS = Float64Array.from({ length: seconds + 1 }, (_, i) => i);
	const sensorC = timeS.map((s) => 44 + (20 * s) / seconds);
	const fade = Math.exp(-BURST_MODEL.fadePerS);
	let gone = 0;
	const burst = burstShape(timeS.length, crackS, spreadS).map((value) => {
		gone = fade * gone + value;
		return burstG * (value - BURST_MODEL.depletionPerS * gone);
	});
	const ratio = timeS.map((s) => {
		const releaseGS = baseGS(s) - baseGS(0) + burst[s]!;
		return roomGKg + (1000 * releaseGS) / (flowGS * flowFactor(s));
	});
	const noise = evenNoise(shape.noiseRhPct ?? 0);
	const humidityRhPct = lagged(ratio, lagS).map((value, i) => {
		const vapour = vapourPressurePa(value, PRESSURE_PA);
		return (100 * vapour) / saturationPressurePa(sensorC[i]!) + (shape.offsetRhPct ?? 0) + noise();
	});
	const channels: Partial<Record<Channel, Float64Array>> = {
		beanC: timeS.map((s) => 25 + 190 * (1 - Math.exp(-s / 150)) + 0.01 * s),
		exhaustC: timeS.map((s) => 40 + 164 * (1 - Math.exp(-s / 120))),
		sensorC,
		humidityRhPct,
		fanPct: timeS.map((s) => 60 * flowFactor(s)),
		...shape.extra
	};
	for (const name of shape.without ?? []) delete channels[name];
	return {
		kind: 'sample',
		timeS,
		channels,
		marks: shape.marks ?? [
			{ name: 'charge', timeS: 0 },
			{ name: 'drop', timeS: seconds }
		]
	};
}

/** Everything known, but for what is laid over it. */
export function sampleContext(over: Partial<ReadingContext> = {}): ReadingContext {
	return {
		chargeG: 50,
		outG: 46,
		greenMoisturePct: null,
		airFlowGS: 4,
		sensorLagS: 0,
		pressurePa: PRESSURE_PA,
		altitudeM: null,
		roomHumidityGKg: null,
		...over
	};
}

/** Normal noise from a fixed sequence: the same on every run. */
export function evenNoise(sd: number): () => number {
	let state = 12345;
	const unit = () => {
		state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
		return (state + 0.5) / 4294967296;
	};
	return () => sd * Math.sqrt(-2 * Math.log(unit())) * Math.cos(2 * Math.PI * unit());
}

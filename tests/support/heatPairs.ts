/**
 * Pairs of lots on one simulated drum: a reference lot that is released, with the logs of its tests, and a
 * new lot with nothing but its sample roast. What the advice may see is in `seen`: logs with the noise
 * and lag of their sensors, and readings made from them. The beans themselves stay in here, to roast what
 * was advised.
 */
import { drawBean, type BeanParams } from '#demo/bean.ts';
import { chanceFrom, type Chance } from '#demo/chance.ts';
import {
	DRUM_15,
	DRUM_60,
	gasStepsFor,
	simulateDrum,
	usualGoal,
	type DrumRoaster,
	type DrumSettings,
	type DrumStep
} from '#demo/drum.ts';
import { simulateSample } from '#demo/simulate.ts';
import type { DrumBatch } from '#lib/domain/drum/calibrate.ts';
import { lotHeat, type LotHeat } from '#lib/domain/drum/lotHeat.ts';
import { readDrum } from '#lib/domain/drum/read.ts';
import type { DrumReading } from '#lib/domain/drum/reading.ts';
import { LOT_KINDS, type LotKind } from '#lib/domain/lot/lot.ts';
import { onGrid } from '#lib/domain/release/grid.ts';
import { readSample } from '#lib/domain/release/read.ts';

export type PairSeeds = 'tuning' | 'held back';

export interface HeatPair {
	readonly kinds: readonly [reference: LotKind, next: LotKind];
	readonly seen: {
		readonly reference: readonly DrumBatch[];
		readonly referenceLot: LotHeat;
		readonly nextLot: LotHeat;
		readonly settings: DrumSettings;
	};
	/** Roasts the new lot with these gas steps; a number tells batches apart. */
	readonly roastNext: (gasSteps: readonly DrumStep[], batch: number) => DrumReading;
}

/** One pair by its number. Every second one has one log of the reference, the others two. */
export function heatPair(seeds: PairSeeds, number: number): HeatPair {
	const chance = chanceFrom(`heat pairs, ${seeds}, ${number}`);
	const kinds = [chance.pick(LOT_KINDS), chance.pick(LOT_KINDS)] as const;
	const roaster = chance.pick([DRUM_15, DRUM_60]);
	const [reference, next] = kinds.map((kind, i) => drawBean(kind, chance.branch(`bean ${i}`))) as [
		BeanParams,
		BeanParams
	];
	const base = {
		chargeG: roaster.capacityKg * 1000 * chance.between(0.65, 0.95),
		startC: chance.whole(190, 200),
		soakS: 45,
		airSteps: [
			{ atS: 0, pct: 55 },
			{ atS: 300, pct: 65 }
		],
		drumRpm: 50
	};
	const settings: DrumSettings = {
		...base,
		gasSteps: gasStepsFor(reference, roaster, base, usualGoal(reference))
	};
	const roast = (
		kind: LotKind,
		params: BeanParams,
		gasSteps: readonly DrumStep[],
		seed: string
	): DrumReading => drumReading(roaster, kind, params, { ...settings, gasSteps }, seed);
	const referenceLot = sampled(kinds[0], reference, chance.branch('sample 0'));
	const nextLot = sampled(kinds[1], next, chance.branch('sample 1'));
	const seed = `heat pair ${seeds} ${number}`;
	const logs = [roast(kinds[0], reference, settings.gasSteps, `${seed} released`)];
	if (number % 2 === 1) {
		const earlier = changed(settings.gasSteps, chance.branch('earlier'));
		logs.push(roast(kinds[0], reference, earlier, `${seed} earlier`));
	}
	return {
		kinds,
		seen: {
			reference: logs.map((reading, i) => ({ label: `log ${i}`, reading, lot: referenceLot })),
			referenceLot,
			nextLot,
			settings
		},
		roastNext: (gasSteps, batch) => roast(kinds[1], next, gasSteps, `${seed} batch ${batch}`)
	};
}

/** A test of the reference that was not yet right. */
function changed(steps: readonly DrumStep[], chance: Chance): DrumStep[] {
	const from = chance.whole(1, 4);
	const by = chance.pick([-9, -6, 6, 9]);
	return steps.map((step, i) => (i >= from ? { ...step, pct: step.pct + by } : step));
}

function drumReading(
	roaster: DrumRoaster,
	kind: LotKind,
	params: BeanParams,
	settings: DrumSettings,
	seed: string
): DrumReading {
	const { log, chargeG, outG } = simulateDrum({ kind, params, settings, roaster, seed });
	const reading = readDrum(log, { chargeG, outG });
	if (!reading.ok) throw new Error(reading.problems[0]?.message);
	return reading.value;
}

/** A sample roast as its instruments saw it: moisture, flow and lag known about as well as in a roastery. */
function sampled(kind: LotKind, params: BeanParams, chance: Chance): LotHeat {
	const airFlowGS = 4;
	const lagS = chance.between(5, 15);
	const roast = simulateSample({
		kind,
		params,
		seed: chance.unit(),
		lagS,
		airFlowGS: airFlowGS * chance.tame(1, 0.015),
		offsetRhPct: chance.tame(0, 0.3),
		roomHumidityGKg: chance.between(6, 10)
	});
	const reading = readSample(roast.log, {
		chargeG: roast.chargeG,
		outG: roast.outG,
		greenMoisturePct: null,
		airFlowGS,
		sensorLagS: lagS + chance.tame(0, 1),
		pressurePa: roast.pressurePa,
		altitudeM: null,
		roomHumidityGKg: null
	});
	if (!reading.ok) throw new Error(reading.problems[0]?.message);
	const found = lotHeat(reading.value, roast.greenMoisturePct + chance.tame(0, 0.12), [
		...onGrid(
			roast.log.timeS,
			roast.log.channels.inletC!,
			Float64Array.from(reading.value.series.timeS)
		)!
	]);
	if ('whyNot' in found) throw new Error(found.whyNot);
	return found;
}

/** Ways in which a log's gas or temperature can be wrong. */
export const SPOILT = [
	'gas reversed',
	'gas upside down',
	'gas two minutes late',
	'probe wanders'
] as const;

/** The logs as they would be with something wrong; without inlet air, which would give it away. */
export function spoiltLogs(
	batches: readonly DrumBatch[],
	how: (typeof SPOILT)[number]
): DrumBatch[] {
	return batches.map((batch) => {
		const { gasPct, beanC } = batch.reading.series;
		const gas = gasPct!.map((value) => value ?? 0);
		const changed = {
			'gas reversed': { gasPct: gas.toReversed() },
			'gas upside down': { gasPct: gas.map((value) => 110 - value) },
			'gas two minutes late': { gasPct: gas.map((_, t) => gas[Math.max(0, t - 120)]!) },
			'probe wanders': { beanC: beanC.map((value, t) => value && value + 6 * Math.sin(t / 40)) }
		}[how];
		const series = { ...batch.reading.series, inletC: null, ...changed };
		return { ...batch, reading: { ...batch.reading, series } };
	});
}

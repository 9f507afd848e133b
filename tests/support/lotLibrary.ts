/**
 * A made library of sample roasts: lots of every kind in turn, each roasted once or more on the
 * simulated sample roaster, with what differs from roast to roast of one lot in a roastery: heat and
 * length of the profile, charge, air, room, the sensor's lag and how well it is known, its offset. No
 * open data set of roast humidity curves was found, so there is nothing better to measure on.
 *
 * Constants of fingerprint and likeness were set on other seeds than `held back`.
 */
import { drawBean } from '#demo/bean.ts';
import { chanceFrom, type Chance } from '#demo/chance.ts';
import { PROFILES, simulateSample, type InletProfile } from '#demo/simulate.ts';
import { LOT_KINDS, type LotKind } from '#lib/domain/lot/lot.ts';
import { fingerprintOf, type Fingerprint } from '#lib/domain/release/fingerprint.ts';
import { readSample } from '#lib/domain/release/read.ts';
import type { SampleReading } from '#lib/domain/release/reading.ts';

export interface LibraryOptions {
	readonly seeds: 'tuning' | 'held back';
	/** A multiple of 6 has each kind as often. */
	readonly lots: number;
	readonly roastsPerLot?: number;
	/** One profile for all, or usual, hotter and cooler by chance. */
	readonly profiles: 'usual' | 'mixed';
	/** Two libraries with different names have different lots. */
	readonly name?: string;
}

export interface MadeRoast {
	readonly kind: LotKind;
	readonly lot: number;
	readonly fingerprint: Fingerprint;
}

/** The roasts lot by lot. Throws when a roast can't be read: the simulator makes none such. */
export function madeLibrary(options: LibraryOptions): MadeRoast[][] {
	return Array.from({ length: options.lots }, (_, lot) => {
		const kind = LOT_KINDS[lot % LOT_KINDS.length]!;
		const chance = chanceFrom(`lots, ${options.seeds}, ${options.name ?? 'library'}, ${lot}`);
		const params = drawBean(kind, chance.branch('bean'));
		return Array.from({ length: options.roastsPerLot ?? 1 }, (_, roast) => {
			const reading = sampleReading(kind, params, options.profiles, chance.branch(roast));
			const fingerprint = fingerprintOf(reading);
			if (!fingerprint.ok) throw new Error(fingerprint.problems[0]?.message);
			return { kind, lot, fingerprint: fingerprint.value };
		});
	});
}

function sampleReading(
	kind: LotKind,
	params: ReturnType<typeof drawBean>,
	profiles: LibraryOptions['profiles'],
	chance: Chance
): SampleReading {
	const base =
		profiles === 'usual'
			? PROFILES.usual
			: PROFILES[chance.pick(['usual', 'hotter', 'cooler'] as const)];
	const lagS = chance.between(5, 15);
	const airFlowGS = 4;
	const roast = simulateSample({
		kind,
		params,
		seed: chance.unit(),
		profile: varied(base, chance.tame(1, 0.01), chance.tame(1, 0.03)),
		chargeG: chance.tame(50, 0.5),
		airFlowGS: airFlowGS * chance.tame(1, 0.015),
		roomHumidityGKg: chance.between(6, 10),
		offsetRhPct: chance.tame(0, 0.3),
		lagS
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
	return reading.value;
}

function varied(profile: InletProfile, heat: number, time: number): InletProfile {
	return profile.map(([seconds, celsius]) => [Math.round(seconds * time), celsius * heat] as const);
}

/** Of the ten nearest of each roast, the share that is of its own kind, over all roasts. */
export function kindPurity(
	roasts: readonly MadeRoast[],
	nearestTo: (index: number) => readonly number[],
	queries = roasts.map((_, index) => index)
): number {
	let alike = 0;
	let seen = 0;
	for (const query of queries) {
		for (const index of nearestTo(query)) {
			seen++;
			if (roasts[index]!.kind === roasts[query]!.kind) alike++;
		}
	}
	return alike / seen;
}

import { stamp } from './calendar.ts';
import { chanceFrom } from './chance.ts';
import { PROFILES, simulateSample } from './simulate.ts';
import type { LotStory, SampleStory } from './story.ts';

/**
 * Lots in the house whose arrival sample was roasted twice more, one after the other on one afternoon after
 * every other sample: what such repeats differ by is no difference between lots. Seeds are their own.
 */
export const REPEATED = ['HR-151', 'HR-152', 'HR-153', 'HR-158', 'HR-160', 'HR-161'] as const;
const DAY = '2026-11-20';
const FROM_MINUTE = 780;
const MINUTES_EACH = 14;
const TIMES = 2;

export interface RepeatStory {
	readonly code: string;
	readonly lot: LotStory;
	/** 1 for the first roast after the sample itself. */
	readonly number: number;
	readonly item: SampleStory;
}

/** The repeats in order of time. */
export function repeatsOf(
	lots: readonly { readonly code: string; readonly lot: LotStory }[]
): RepeatStory[] {
	const repeats: RepeatStory[] = [];
	for (let number = 1; number <= TIMES; number++) {
		for (const repeated of REPEATED) {
			const coded = lots.find(({ code }) => code === repeated);
			const first = coded?.lot.samples.find(({ stage }) => stage === 'arrival');
			if (!coded || !first) throw new Error(`${repeated} has no arrival sample to repeat`);
			const minute = FROM_MINUTE + repeats.length * MINUTES_EACH;
			const item = repeatOf(coded.lot, first, `repeat ${repeated}/${number}`, minute);
			repeats.push({ ...coded, number, item });
		}
	}
	return repeats;
}

/** The same beans and sensor, heated a little otherwise, with another room and another noise. */
function repeatOf(lot: LotStory, first: SampleStory, seed: string, minute: number): SampleStory {
	const chance = chanceFrom(seed);
	const heat = 1 + chance.tame(0, 0.003);
	const { params } = first.roast.truth;
	const roast = simulateSample({
		kind: lot.kind,
		seed,
		params: { ...params, x0: params.x0 + chance.tame(0, 0.0005) },
		profile: PROFILES.usual.map(([seconds, celsius]) => [seconds, celsius * heat] as const),
		lagS: first.roast.lagS,
		noiseRhPct: 0.1,
		offsetRhPct: chance.tame(0, 0.3),
		pressurePa: 100_845,
		roomHumidityGKg: chance.tame(8, 0.3)
	});
	return {
		...{ stage: first.stage, by: first.by, dialect: 0, fan: 'steady', sensorLagKnown: true },
		at: stamp(DAY, minute),
		roast,
		earCrackS: null,
		note: 'Repeat, to see how far two roasts of one lot differ'
	};
}

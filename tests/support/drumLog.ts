import type { Channel, Mark, RoastLog } from '#lib/domain/curve/log.ts';

/** How the beans of a made batch warm: seconds from charge and C/min, straight lines between. */
export type MadeRates = readonly (readonly [seconds: number, rateCMin: number])[];

export interface MadeDrum {
	readonly rates: MadeRates;
	readonly dropS: number;
	readonly crackS?: number;
	/** First-order lag of the probe, s. */
	readonly lagS?: number;
	/** Probe in the drum at charge, C. */
	readonly startC?: number;
	/** Time with the probe at `startC` before the charge, s; moves the whole log. */
	readonly preheatS?: number;
	readonly stepS?: number;
	/** Half width of an even scatter about the curve, C; the same for the same `seed`. */
	readonly scatterC?: number;
	readonly seed?: number;
	readonly channels?: (timeS: Float64Array) => Partial<Record<Channel, Float64Array>>;
}

const TICK_S = 0.1;

/**
 * A drum log drawn from a course of rates: beans from 22 C, and a bean probe that follows them with a
 * first-order lag. No physics: it has exactly the shape that a test asks for. Marks: charge, drop, and
 * first crack if given.
 */
export function madeDrumLog(made: MadeDrum): RoastLog {
	const { rates, dropS, crackS, lagS = 25, startC = 200, preheatS = 0, stepS = 1 } = made;
	const { scatterC = 0, seed = 1 } = made;
	const chance = evenChance(seed);
	const timeS: number[] = [];
	const beanC: number[] = [];
	let trueC = 22;
	let probeC = startC;
	const ticksPerRow = Math.round(stepS / TICK_S);
	for (let tick = Math.round(-preheatS / TICK_S); tick <= Math.round(dropS / TICK_S); tick++) {
		if (tick % ticksPerRow === 0) {
			timeS.push(tick * TICK_S + preheatS);
			beanC.push(probeC + scatterC * (2 * chance() - 1));
		}
		if (tick < 0) continue;
		probeC += ((trueC - probeC) * TICK_S) / lagS;
		trueC += (rateAt(rates, tick * TICK_S) / 60) * TICK_S;
	}
	const marks: Mark[] = [{ name: 'charge', timeS: preheatS }];
	if (crackS !== undefined) marks.push({ name: 'firstCrackEar', timeS: crackS + preheatS });
	marks.push({ name: 'drop', timeS: dropS + preheatS });
	const axis = Float64Array.from(timeS);
	const channels = { beanC: Float64Array.from(beanC), ...made.channels?.(axis) };
	return { kind: 'drum', timeS: axis, channels, marks };
}

function rateAt(rates: MadeRates, seconds: number): number {
	let [beforeS, before] = rates[0]!;
	for (const [atS, rate] of rates) {
		if (seconds < atS) return before + ((rate - before) * (seconds - beforeS)) / (atS - beforeS);
		[beforeS, before] = [atS, rate];
	}
	return before;
}

/** Even numbers from 0 to 1 by a 32-bit linear congruence (Numerical Recipes' constants, from memory). */
function evenChance(seed: number): () => number {
	let state = seed >>> 0;
	return () => {
		state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
		return state / 2 ** 32;
	};
}

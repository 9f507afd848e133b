/**
 * How a lot takes up heat: the water that leaves it, how much heat that takes, and what else warms it.
 * Everything is for a kilogram of dry bean; water is kg per kg dry.
 *
 * Rules of the heat demand, cited in test names:
 *
 * H1 Where a lot's water leaves is read off its sample roast: release = k(T) X^2, with k a figure for each
 *    degree of bean temperature. That way water that left early can't leave late, and a drum that heats
 *    more slowly than the sample roaster lets it leave at lower temperatures.
 * H2 The heat that a change of temperature takes is that of the moist bean; the latent heat and the
 *    reaction heat come on top, each by its stated equation. These are a model's, and said to be.
 * H3 What is not known takes a default and is named among what was lacking.
 */
import type { SampleReading } from '../release/reading.ts';
import { dryBasis, formedWater, reactionKW } from './beanHeat.ts';
import { sampleHeat, type SampleHeat } from './sampleHeat.ts';

/** Green coffee's water where it was not measured, % wet basis (common practice, no source). */
const USUAL_MOISTURE_PCT = 11;
/** Water released by a sample for its weighed loss, where its air flow is not known (as above). */
const WATER_OF_LOSS = 0.9;

/** Range of the figures of `LotHeat.perS`, a degree each, C. */
export const HEAT_FROM_C = 60;
export const HEAT_TO_C = 240;
/** Degrees either side over which the release is averaged. */
const BLUR_C = 2;

export interface LotHeat {
	/** Water at charge, dry basis. */
	readonly x0: number;
	/** k(T) of H1, 1/s, a degree each from `HEAT_FROM_C`. */
	readonly perS: Float64Array;
	/** Bean temperatures that the sample really passed; beyond them k goes on as at the edge, C. */
	readonly knownFromC: number;
	readonly knownToC: number;
	/** Reactions against the model's by the sample's air (H11); null where inlet or exhaust was not logged. */
	readonly sampleHeat: SampleHeat | null;
	/** What was lacking, and what was taken in its place (H3). */
	readonly lacked: readonly string[];
}

/** k of a lot at a bean temperature, 1/s. */
export function releasePerS({ perS }: LotHeat, beanC: number): number {
	const place = Math.min(Math.max(beanC - HEAT_FROM_C, 0), perS.length - 1.001);
	const below = Math.floor(place);
	return perS[below]! + (place - below) * (perS[below + 1]! - perS[below]!);
}

/**
 * A lot's heat from the reading of its sample roast. `moisturePct` is of the green coffee, wet basis; `inletC`
 * the inlet air on the reading's grid. A reason
 * when the log has no bean temperature, or no way to tell grams of water, or passes too few degrees.
 */
export function lotHeat(
	reading: SampleReading,
	moisturePct: number | null,
	inletC: readonly number[] | null
): LotHeat | { readonly whyNot: string } {
	const { beanC } = reading.series;
	if (beanC === null) return { whyNot: 'the sample log has no bean temperature' };
	const lacked: string[] = [];
	const chargeG = reading.inputs.chargeG;
	if (chargeG === null) return { whyNot: 'the charge of the sample roast is not known' };
	const scale = gramsPerRate(reading, lacked);
	if (scale === null) return { whyNot: 'neither air flow nor weight loss of the sample is known' };
	if (moisturePct === null)
		lacked.push(`Moisture of the green coffee: ${USUAL_MOISTURE_PCT} % taken`);
	const x0 = dryBasis(moisturePct ?? USUAL_MOISTURE_PCT);
	const release = reading.series.rate.map((rate) => (rate * scale * (1 + x0)) / chargeG);
	const course = waterCourse(reading.series.timeS, beanC, release, x0);
	const found = filled(course.sums, course.weights);
	if (found.knownToC - found.knownFromC < 80)
		return { whyNot: 'the sample passes fewer than 80 degrees of bean temperature' };
	const { exhaustC, timeS } = reading.series;
	const cooledK = exhaustC && inletC && exhaustC.map((value, i) => (inletC[i] ?? NaN) - value);
	const heat = cooledK && sampleHeat({ timeS, beanC, cooledK, ...course });
	if (heat === null)
		lacked.push('Inlet and exhaust air of the sample roast: the reactions are taken as alike');
	return { x0, ...found, sampleHeat: heat, lacked };
}

/** Grams a second for one unit of the reading's rate. */
function gramsPerRate({ rateUnit, inputs }: SampleReading, lacked: string[]): number | null {
	if (rateUnit === 'g/s') return 1;
	if (inputs.chargeG === null || inputs.outG === null) return null;
	lacked.push(`Air flow of the sample roast: water taken as ${100 * WATER_OF_LOSS} % of its loss`);
	return WATER_OF_LOSS * (inputs.chargeG - inputs.outG);
}

/** Follows water and reactions through the sample roast and puts release / X^2 on the temperature axis. */
function waterCourse(
	timeS: readonly number[],
	beanC: readonly number[],
	release: readonly number[],
	x0: number
) {
	const count = HEAT_TO_C - HEAT_FROM_C + 1;
	const sums = new Float64Array(count);
	const weights = new Float64Array(count);
	const drying = new Float64Array(timeS.length);
	const water = new Float64Array(timeS.length).fill(x0);
	let x = x0;
	let reactedKJ = 0;
	for (let i = 1; i < timeS.length; i++) {
		const seconds = timeS[i]! - timeS[i - 1]!;
		const heat = reactionKW(beanC[i]!, reactedKJ);
		const formed = formedWater(heat);
		const left = release[i]! - formed;
		const usedX = Math.max(x, 0.01);
		addBlurred(sums, weights, beanC[i]! - HEAT_FROM_C, left, usedX * usedX);
		x -= left * seconds;
		reactedKJ += heat * seconds;
		drying[i] = left;
		water[i] = Math.max(0, x);
	}
	return { sums, weights, drying, water };
}

function addBlurred(
	sums: Float64Array,
	weights: Float64Array,
	place: number,
	release: number,
	squaredX: number
): void {
	const middle = Math.round(place);
	for (let i = Math.max(0, middle - BLUR_C); i <= Math.min(sums.length - 1, middle + BLUR_C); i++) {
		const near = Math.max(0, 1 - Math.abs(i - place) / (BLUR_C + 0.5));
		sums[i]! += near * release;
		weights[i]! += near * squaredX;
	}
}

function filled(sums: Float64Array, weights: Float64Array) {
	const known = [...weights.keys()].filter((i) => weights[i]! > 0);
	const [first = 0, last = 0] = [known[0], known.at(-1)];
	const perS = new Float64Array(sums.length);
	let before = 0;
	for (let i = 0; i < perS.length; i++) {
		const at = Math.min(Math.max(i, first), last);
		if (weights[at]! > 0) before = Math.max(0, sums[at]! / weights[at]!);
		perS[i] = before;
	}
	return { perS, knownFromC: HEAT_FROM_C + first, knownToC: HEAT_FROM_C + last };
}

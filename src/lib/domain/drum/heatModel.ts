/** A drum that is calibrated on logs: hot air through the beans, hot metal under them, a probe that lags. */
import { capacityKJPerK, driedIn, reactionKW } from './beanHeat.ts';
import { releasePerS, type LotHeat } from './lotHeat.ts';

/** What is fitted, in the order of the parameter list. */
export const DRUM_PARAMETERS = [
	/** Logarithm of the heat from air to beans, kW/K for a kilogram dry. */
	'air',
	/** Logarithm of how much the inlet air is above the room with gas and air at the same per cent, K. */
	'inlet',
	/** Logarithm of the heat from metal to beans, kW/K for a kilogram dry. */
	'metal',
	/** Logarithm of the metal's heat capacity, kJ/K for a kilogram dry. */
	'metalHeat',
	/** Logarithm of the lag of the bean probe and its sleeve together, s. */
	'lag',
	/** Times the reaction heat of the model. */
	'reaction'
] as const;
export type DrumParameter = (typeof DRUM_PARAMETERS)[number];

export interface DrumFacts {
	readonly lot: LotHeat;
	/** Probe in the empty drum at charge, C. */
	readonly startC: number;
	/** Of the room and the green coffee, C. */
	readonly roomC: number;
	/** Kilojoule for a kilogram of water. */
	readonly latentKJPerKg: number;
	/** Gas and air a second each from charge, %. */
	readonly gasPct: ArrayLike<number>;
	readonly airPct: ArrayLike<number>;
}

/** Air speed raises the transfer with this power (from memory: common for packed and tumbled beds). */
const AIR_POWER = 0.6;
/** The beans swell: their surface by so much from 100 to 200 C (ours). */
const GROWTH = 0.3;
/** Of the heat that air gives beans at the same difference, what it gives the metal (ours). */
const AIR_TO_METAL = 0.3;

/** Bean probe a second each from charge, C, as many as there is gas. */
export function modelledProbe(parameters: readonly number[], facts: DrumFacts): Float64Array {
	return modelledCourse(parameters, facts).probeC;
}

/** Beans and their probe a second each from charge, C. */
export function modelledCourse(
	parameters: readonly number[],
	facts: DrumFacts
): { readonly beanC: Float64Array; readonly probeC: Float64Array } {
	const [air, inlet, metal, metalHeat, lag] = parameters.map(Math.exp) as [
		number,
		number,
		number,
		number,
		number
	];
	const reaction = parameters[5]!;
	const { lot, roomC, gasPct, airPct, latentKJPerKg } = facts;
	const count = gasPct.length;
	const probe = new Float64Array(count);
	const beans = new Float64Array(count);
	let beanC = roomC;
	let metalC = facts.startC;
	let sleeveC = facts.startC;
	let probeC = facts.startC;
	let x = lot.x0;
	let reactedKJ = 0;
	for (let t = 0; t < count; t++) {
		probe[t] = probeC;
		beans[t] = beanC;
		const inletC = roomC + (inlet * gasPct[t]!) / airPct[t]!;
		const swollen = 1 + GROWTH * Math.min(1, Math.max(0, (beanC - 100) / 100));
		const fromAir = air * Math.pow(airPct[t]! / 60, AIR_POWER) * swollen;
		const heatKW = fromAir * (inletC - beanC) + metal * (metalC - beanC);
		const reactionRate = reaction * reactionKW(beanC, reactedKJ);
		const drying = driedIn(releasePerS(lot, beanC), x, 1);
		beanC += (heatKW + reactionRate - latentKJPerKg * drying) / capacityKJPerK(beanC, x);
		metalC += (AIR_TO_METAL * fromAir * (inletC - metalC) - metal * (metalC - beanC)) / metalHeat;
		x -= drying;
		reactedKJ += reactionRate;
		sleeveC += (beanC - sleeveC) / (1 + lag / 2);
		probeC += (sleeveC - probeC) / (1 + lag / 2);
	}
	return { beanC: beans, probeC: probe };
}

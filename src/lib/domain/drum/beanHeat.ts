/**
 * The roast model's equations for a kilogram of dry bean: heat capacity, latent heat, reaction heat, drying at
 * one temperature. Attributed to Schwartzberg (2002) at second hand; the constants are unconfirmed defaults
 * (`tests/published/heat.test.ts` names the sources).
 */

/** Latent heat of water leaving a bean in the roast model, kJ/kg (from memory: Schwartzberg 2002). */
export const MODEL_LATENT_KJ_PER_KG = 2790;
/** Latent heat of free water at 100 C, kJ/kg (IAPWS-IF97): the least that it can be. */
export const FREE_WATER_LATENT_KJ_PER_KG = 2256.47;
/** Reaction heat of a whole roast, kJ per kg dry (attributed to Schwartzberg 2002, secondary). */
export const REACTION_KJ_PER_KG = 232;
/** Water that the reactions form in a whole roast, kg per kg dry: dry matter lost is usually 4 to 6 %. */
const FORMED_WATER = 0.06;

/** Dry basis from % wet basis: 11 % is 0.1236. */
export function dryBasis(moisturePct: number): number {
	return moisturePct / (100 - moisturePct);
}

/** Heat capacity for a kilogram of dry bean with its water `x`, kJ/K (attributed to Schwartzberg 2002). */
export function capacityKJPerK(beanC: number, x: number): number {
	return 1.099 + 0.007 * beanC + 5 * x;
}

/** Reaction heat rate, kW, after `reactedKJ` have been released (constants as above, one from memory). */
export function reactionKW(beanC: number, reactedKJ: number): number {
	const left = Math.max(0, 1 - reactedKJ / REACTION_KJ_PER_KG);
	return 116_200 * Math.exp(-5500 / (beanC + 273.2)) * left;
}

/**
 * Water that leaves in so many seconds at one temperature: the closed form of dX/dt = -k X^2, which is
 * 1/X = 1/X0 + k t.
 */
export function driedIn(perS: number, x: number, seconds: number): number {
	return x - x / (1 + perS * x * seconds);
}

/** Water that the reactions form while they release so much heat. */
export function formedWater(reactedKJ: number): number {
	return (FORMED_WATER * reactedKJ) / REACTION_KJ_PER_KG;
}

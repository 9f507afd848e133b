import type { LotKind } from '#lib/domain/lot/lot.ts';
import type { Chance } from './chance.ts';

/**
 * The bean of the simulators: moisture and reaction heat in dry basis. Drying, reaction heat, heat
 * capacity and latent heat are the lumped equations attributed to Schwartzberg (2002); the constants
 * are unconfirmed defaults (see `demo-data/README.md` for source and tags). Fast pool, crack burst and
 * reaction water are terms of our own.
 */

/** What makes one lot roast unlike another. Water is kg per kg of dry bean. */
export interface BeanParams {
	/** Water at charge, dry basis. */
	readonly x0: number;
	/** Bean diameter, mm. */
	readonly diameterMm: number;
	/** Share of the water in the fast pool, 0 to 1. */
	readonly fastShare: number;
	/** Mean and spread of the temperature at which a bean cracks, C. */
	readonly crackC: number;
	readonly crackSpreadC: number;
	/** Share of its remaining water that a bean expels when it cracks, 0 to 1. */
	readonly burstShare: number;
	/** Water formed by all of the reactions, kg per kg dry. */
	readonly reactionWater: number;
	/** Multiplies the reaction heat rate. */
	readonly exotherm: number;
}

/** The middle of each kind. */
export const KIND_PARAMS: Readonly<Record<LotKind, BeanParams>> = {
	washed: kind(0.122, 6.9, 0.05, 198, 1.5, 0.2, 0.055, 1.0),
	natural: kind(0.117, 6.3, 0.12, 195.5, 3.5, 0.16, 0.075, 1.08),
	honey: kind(0.119, 5.6, 0.1, 194.5, 2.6, 0.14, 0.06, 1.05),
	decaf: kind(0.112, 5.2, 0.22, 192.5, 4.6, 0.06, 0.065, 1.15),
	'old crop': kind(0.1, 5.7, 0.04, 197, 3.3, 0.11, 0.052, 0.92),
	anaerobic: kind(0.126, 6.4, 0.17, 193.5, 2.2, 0.2, 0.085, 1.15)
};

function kind(
	x0: number,
	diameterMm: number,
	fastShare: number,
	crackC: number,
	crackSpreadC: number,
	burstShare: number,
	reactionWater: number,
	exotherm: number
): BeanParams {
	return {
		x0,
		diameterMm,
		fastShare,
		crackC,
		crackSpreadC,
		burstShare,
		reactionWater,
		exotherm
	};
}

/** One lot of a kind: the middle of the kind with the spread found between lots. */
export function drawBean(kindOf: LotKind, chance: Chance): BeanParams {
	const middle = KIND_PARAMS[kindOf];
	return {
		x0: chance.tame(middle.x0, 0.006),
		diameterMm: chance.tame(middle.diameterMm, 0.2),
		fastShare: Math.max(0, chance.tame(middle.fastShare, 0.03)),
		crackC: chance.tame(middle.crackC, 1.5),
		crackSpreadC: middle.crackSpreadC * chance.tame(1, 0.15),
		burstShare: middle.burstShare * chance.tame(1, 0.15),
		reactionWater: chance.tame(middle.reactionWater, 0.005),
		exotherm: chance.tame(middle.exotherm, 0.05)
	};
}

/** Latent heat of the water that leaves, kJ/kg (from memory in our notes). */
export const LATENT_KJ_PER_KG = 2790;
/** Reaction heat of a whole roast, kJ per kg dry. */
export const REACTION_HEAT_KJ_PER_KG = 232;
const REACTION_RATE_KW_PER_KG = 116_200;
const BURST_RELEASE_S = 5;

/** Drying constant k of dX/dt = -k X^2, 1/s, X kg/kg dry, diameter in mm, temperature in C. */
export function dryingConstant(beanC: number, diameterMm: number): number {
	return (4.32e9 / (diameterMm * diameterMm)) * Math.exp(-9889 / (beanC + 273.2));
}

/** Reaction heat rate, kW per kg dry, after `releasedKJ` kJ per kg dry have been released. */
export function reactionHeatKW(beanC: number, releasedKJ: number): number {
	const left = (REACTION_HEAT_KJ_PER_KG - releasedKJ) / REACTION_HEAT_KJ_PER_KG;
	return REACTION_RATE_KW_PER_KG * Math.exp(-5500 / (beanC + 273.2)) * left;
}

/** Heat capacity of the moist bean, kJ per kg of moist bean and K; `x` kg/kg dry. */
export function heatCapacity(beanC: number, x: number): number {
	return (1.099 + 0.007 * beanC + 5 * x) / (1 + x);
}

/** State of the bean, everything per kg of dry bean. */
export interface BeanState {
	readonly tempC: number;
	/** Water in the slow pool, in the fast pool, and expelled but not yet out. */
	readonly slow: number;
	readonly fast: number;
	readonly expelled: number;
	/** Reaction heat released so far, kJ. */
	readonly reactedKJ: number;
	/** Share of beans cracked, 0 to 1. */
	readonly cracked: number;
}

/** How the bean changes in a second, and what it gives to the air, kg per kg dry and second. */
export interface BeanChange {
	readonly change: BeanState;
	readonly baseRelease: number;
	readonly burstRelease: number;
}

export function beanAtCharge(params: BeanParams, tempC: number): BeanState {
	return {
		tempC,
		slow: params.x0 * (1 - params.fastShare),
		fast: params.x0 * params.fastShare,
		expelled: 0,
		reactedKJ: 0,
		cracked: 0
	};
}

/**
 * Time derivative of the bean when the roaster gives it `heatKW` kW per kg dry. A bean cracks once:
 * cooling cracks none.
 */
export function beanChange(params: BeanParams, bean: BeanState, heatKW: number): BeanChange {
	const drying = dryingConstant(bean.tempC, params.diameterMm) * bean.slow * bean.slow;
	const fastRate = 0.01 * Math.exp(-5500 * (1 / (bean.tempC + 273.15) - 1 / 383));
	const fastDrying = fastRate * bean.fast;
	const burstRelease = bean.expelled / BURST_RELEASE_S;
	const heatRate = params.exotherm * reactionHeatKW(bean.tempC, bean.reactedKJ);
	const formed = (params.reactionWater * heatRate) / REACTION_HEAT_KJ_PER_KG;
	const water = bean.slow + bean.fast + bean.expelled;
	const latent = LATENT_KJ_PER_KG * (drying + fastDrying + burstRelease);
	const warming = (heatKW + heatRate - latent) / ((1 + water) * heatCapacity(bean.tempC, water));
	const cracking = warming > 0 ? bell(bean.tempC, params.crackC, params.crackSpreadC) * warming : 0;
	const expelledShare = params.burstShare * cracking;
	return {
		change: {
			tempC: warming,
			slow: -drying - expelledShare * bean.slow,
			fast: -fastDrying - expelledShare * bean.fast,
			expelled: expelledShare * (bean.slow + bean.fast) - burstRelease,
			reactedKJ: heatRate,
			cracked: cracking
		},
		baseRelease: drying + fastDrying + formed,
		burstRelease
	};
}

function bell(value: number, mean: number, sd: number): number {
	const z = (value - mean) / sd;
	return Math.exp(-0.5 * z * z) / (sd * Math.sqrt(2 * Math.PI));
}

/** `bean` moved by `change` for `seconds`. */
export function beanAfter(bean: BeanState, change: BeanState, seconds: number): BeanState {
	return {
		tempC: bean.tempC + change.tempC * seconds,
		slow: bean.slow + change.slow * seconds,
		fast: bean.fast + change.fast * seconds,
		expelled: bean.expelled + change.expelled * seconds,
		reactedKJ: bean.reactedKJ + change.reactedKJ * seconds,
		cracked: bean.cracked + change.cracked * seconds
	};
}

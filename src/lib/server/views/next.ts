/** What to roast next: the gas plan, or similar lots' recipes, and the one change that is advised. */
import { BAND_80, heldPct } from '#lib/domain/drum/gasPlan.ts';
import { heatDifferences, type HeatDifference } from '#lib/domain/drum/heatDemand.ts';
import { FREE_WATER_LATENT_KJ_PER_KG } from '#lib/domain/drum/beanHeat.ts';
import type { DrumParameter } from '#lib/domain/drum/heatModel.ts';
import type { AdviceRecord } from '#lib/domain/trial/advice.ts';
import type { KeptProposal, ProposalKind } from '#lib/domain/trial/proposal.ts';
import { stepsText, type ControlStep, type TestSettings } from '#lib/domain/trial/settings.ts';
import type { Reader } from '../db/client.ts';
import type { Lot } from '../store/lots.ts';
import type { Roaster } from '../store/site.ts';
import { loadRecipes, loadTests } from '../store/tests.ts';
import { light } from './drum.ts';
import { adviceFor } from './next/advice.ts';
import { similarLots } from './next/heat.ts';
import { searchPlan, type MadePlan, type PlanSearch } from './next/plan.ts';
import { lotHref, sampleHref } from './places.ts';
import { testHref } from './tests.ts';

/** A step of the gas as it is and as it is proposed. */
export interface GasRow {
	readonly atS: number;
	readonly unchangedPct: number;
	readonly proposedPct: number;
	/** Why the step can't go further; null where nothing holds it back. */
	readonly limit: string | null;
}

/** Columns a few seconds apart, C; null where there is no value. */
export interface PlanChart {
	readonly timeS: readonly number[];
	readonly referenceC: readonly (number | null)[];
	readonly proposedC: readonly (number | null)[];
	readonly lowC: readonly (number | null)[];
	readonly highC: readonly (number | null)[];
	readonly unchangedC: readonly (number | null)[];
	readonly proposedGas: readonly number[];
	readonly unchangedGas: readonly number[];
}

export interface HeatPlanView {
	readonly reference: {
		readonly code: string;
		readonly name: string;
		readonly href: string;
		readonly because: string;
		readonly recipeVersion: number;
	};
	readonly roasterName: string;
	/** The batch that the prediction starts from. */
	readonly anchor: string;
	readonly isFirst: boolean;
	/** Of the last own test against the reference, C; null before it. */
	readonly missedC: number | null;
	readonly expectedC: number;
	readonly expectedUnchangedC: number;
	readonly rows: readonly GasRow[];
	readonly others: string;
	readonly limits: string;
	readonly chart: PlanChart;
	readonly differences: readonly HeatDifference[];
	readonly reactions: { readonly reference: number; readonly lot: number };
	readonly latent: { readonly usedKJPerKg: number; readonly freeWaterKJPerKg: number };
	readonly fit: {
		readonly rmsC: number;
		readonly batches: readonly string[];
		readonly parameters: readonly {
			readonly name: string;
			readonly value: string;
			readonly error: string;
		}[];
	};
	readonly lacked: readonly string[];
	readonly samples: readonly { readonly code: string; readonly href: string }[];
}

export interface FallbackRecipe {
	readonly code: string;
	readonly name: string;
	readonly href: string;
	readonly version: number;
	readonly roasterName: string;
	readonly settings: string;
}

export interface AdviceView {
	readonly rule: string;
	readonly change: string;
	readonly reason: string;
	readonly confirmedBy: string;
	readonly source: string;
	readonly records: readonly { readonly label: string; readonly href: string }[];
}

/** The section of the page where a test is planned. */
export interface NextRoast {
	readonly plan: HeatPlanView | null;
	/** Why there is no gas plan. */
	readonly whyNot: readonly string[];
	readonly references: readonly { readonly code: string; readonly label: string }[];
	/** Shown where there is no plan. */
	readonly recipes: readonly FallbackRecipe[];
	readonly advice: AdviceView | null;
	/** Why no change is advised. */
	readonly noAdvice: string | null;
}

/** The section, and the proposals with their settings for the form and for keeping. */
export interface NextRoastFound {
	readonly view: NextRoast;
	readonly proposals: Readonly<Partial<Record<ProposalKind, KeptProposal>>>;
	/** Roaster that each proposal is for. */
	readonly roasters: Readonly<Partial<Record<ProposalKind, Roaster>>>;
}

/** What to roast next from a lot, led along the reference asked for or the first that serves. */
export async function findNextRoast(
	db: Reader,
	lot: Lot,
	known: { readonly lots: readonly Lot[]; readonly roasters: readonly Roaster[] },
	reference: string
): Promise<NextRoastFound> {
	const tests = await loadTests(db, { lotId: lot.id });
	const search = await searchPlan(db, lot, tests, known, reference);
	const { made } = search;
	const advice = await adviceFor(db, lot.id, tests, known.roasters, made);
	const isAdvised = !('nothing' in advice);
	const last = tests.at(-1);
	const onLast = known.roasters.find(({ id }) => id === last?.batch.roasterId);
	return {
		view: {
			plan: made && planView(lot, made),
			whyNot: search.whyNot,
			references: referenceChoices(search),
			recipes: made ? [] : await recipesOf(db, lot, known),
			advice: isAdvised
				? { ...advice, records: advice.records.map((record) => recordOf(record, lot.code)) }
				: null,
			noAdvice: isAdvised ? null : advice.nothing
		},
		proposals: {
			...(made && { 'heat demand': keptPlan(made) }),
			...(isAdvised && {
				'one change': {
					kind: 'one change',
					settings: advice.settings,
					reason: advice.reason,
					confirmedBy: advice.confirmedBy,
					heat: null
				}
			})
		},
		roasters: {
			...(made && { 'heat demand': made.roaster }),
			...(onLast && { 'one change': onLast })
		}
	};
}

function recordOf({ lotCode, test }: AdviceRecord, own: string) {
	const code = lotCode ?? own;
	return { label: `${code} test ${test}`, href: testHref(code, test) };
}

function referenceChoices({ references }: PlanSearch) {
	return references.map(({ lot, because }) => ({
		code: lot.code,
		label: `${lot.code} ${lot.name} (${because})`
	}));
}

function keptPlan(made: MadePlan): KeptProposal {
	const { reference, plan, calibration } = made;
	return {
		kind: 'heat demand',
		settings: made.settings,
		reason: `Gas that should bring the beans along the curve of ${reference.lot.code}, recipe ${reference.recipe.version}.`,
		confirmedBy: `The bean curve keeps within the band and ends up nearer to that of ${reference.lot.code} than the ${plan.expectedC.unchanged.toFixed(1)} °C expected of the unchanged gas.`,
		heat: {
			referenceLot: reference.lot.code,
			referenceVersion: reference.recipe.version,
			anchor: plan.anchor,
			unchangedGas: made.unchanged.gasSteps,
			expectedC: plan.expectedC.proposed,
			expectedUnchangedC: plan.expectedC.unchanged,
			fitC: calibration.rmsC,
			lacked: made.lacked
		}
	};
}

const TEMPERATURES_C = [100, 120, 140, 160, 180, 190, 200, 210] as const;

function planView(lot: Lot, made: MadePlan): HeatPlanView {
	const { reference, plan, calibration, roaster, unchanged } = made;
	const { latentKJPerKg } = calibration;
	const model = (reaction: number) => ({ latentKJPerKg, reaction });
	return {
		reference: {
			code: reference.lot.code,
			name: reference.lot.name,
			href: lotHref(reference.lot.code),
			because: reference.because,
			recipeVersion: reference.recipe.version
		},
		roasterName: roaster.name,
		anchor: plan.anchor,
		isFirst: made.own === null,
		missedC: made.own?.missedC ?? null,
		expectedC: plan.expectedC.proposed,
		expectedUnchangedC: plan.expectedC.unchanged,
		rows: gasRows(unchanged.gasSteps, made, roaster),
		others: othersText(unchanged),
		limits: `${roaster.gasMinPct} to ${roaster.gasMaxPct} % in steps of ${roaster.gasStepPct} %`,
		chart: chartOf(made),
		differences: heatDifferences(
			made.heat.reference,
			made.heat.lot,
			plan.referenceBeansC,
			{ reference: model(plan.reactions.reference), next: model(plan.reactions.lot) },
			TEMPERATURES_C
		),
		reactions: plan.reactions,
		latent: {
			usedKJPerKg: latentKJPerKg,
			freeWaterKJPerKg: FREE_WATER_LATENT_KJ_PER_KG
		},
		fit: {
			rmsC: calibration.rmsC,
			batches: calibration.batches,
			parameters: calibration.fitted.map(({ name, value, standardError }) => ({
				name: PARAMETER_WORDS[name],
				value: String(Number(value.toPrecision(3))),
				error:
					name === 'reaction' ? standardError.toFixed(2) : `${(100 * standardError).toFixed(0)} %`
			}))
		},
		lacked: made.lacked,
		samples: [
			{ code: lot.code, href: sampleHref(made.samples.lot) },
			{ code: reference.lot.code, href: sampleHref(made.samples.reference) }
		]
	};
}

const PARAMETER_WORDS: Readonly<Record<DrumParameter, string>> = {
	air: 'Air to beans, kW/K for a kg dry',
	inlet: 'Inlet above the room with gas and air alike, K',
	metal: 'Metal to beans, kW/K for a kg dry',
	metalHeat: 'Heat capacity of the metal, kJ/K for a kg dry',
	lag: 'Lag of probe and sleeve, s',
	reaction: 'Reaction heat, times the model’s'
};

function gasRows(
	steps: readonly ControlStep[],
	{ plan }: MadePlan,
	{ gasMinPct, gasMaxPct }: Roaster
): GasRow[] {
	return plan.steps.map(({ atS, pct }) => ({
		atS,
		unchangedPct: heldPct(steps, atS),
		proposedPct: pct,
		limit: pct >= gasMaxPct ? 'highest gas' : pct <= gasMinPct ? 'lowest gas' : null
	}));
}

function othersText({ chargeG, startC, soakS, airSteps, drumRpm }: TestSettings): string {
	return `charge ${chargeG / 1000} kg, start ${startC} °C, soak ${soakS} s, air ${stepsText(airSteps)}, drum ${drumRpm} rpm`;
}

const CHART_EVERY_S = 5;

function chartOf({ plan, unchanged }: MadePlan): PlanChart {
	const seconds = plan.referenceC.map((_, t) => t).filter((t) => t % CHART_EVERY_S === 0);
	const { proposed } = plan;
	const column = (value: (t: number) => number | null | undefined) =>
		light(seconds.map((t) => value(t) ?? null));
	const band = (sign: number) =>
		column((t) => proposed.beanC[t]! + sign * BAND_80 * proposed.sdC[t]!);
	return {
		timeS: seconds,
		referenceC: column((t) => plan.referenceC[t]),
		proposedC: column((t) => proposed.beanC[t]),
		lowC: band(-1),
		highC: band(1),
		unchangedC: column((t) => plan.unchanged.beanC[t]),
		proposedGas: seconds.map((t) => heldPct(plan.steps, t)),
		unchangedGas: seconds.map((t) => heldPct(unchanged.gasSteps, t))
	};
}

const MOST_RECIPES = 5;

/** The newest recipes of the most similar lots and of the one that this lot takes over from. */
async function recipesOf(
	db: Reader,
	lot: Lot,
	{ lots, roasters }: { readonly lots: readonly Lot[]; readonly roasters: readonly Roaster[] }
): Promise<FallbackRecipe[]> {
	const ids = new Set(await similarLots(db, lot.id));
	if (lot.replacesLotId !== null) ids.add(lot.replacesLotId);
	const found: FallbackRecipe[] = [];
	for (const id of ids) {
		const [recipe] = await loadRecipes(db, id);
		const of = lots.find((one) => one.id === id);
		if (!recipe || !of || found.length === MOST_RECIPES) continue;
		found.push({
			code: of.code,
			name: of.name,
			href: lotHref(of.code),
			version: recipe.version,
			roasterName: roasters.find(({ id: roaster }) => roaster === recipe.roasterId)?.name ?? '',
			settings: `${othersText(recipe.settings)}, gas ${stepsText(recipe.settings.gasSteps)}`
		});
	}
	return found;
}

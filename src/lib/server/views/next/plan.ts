/** The gas plan for a lot's next test by heat-demand transfer, or why there is none. */
import { calibrateDrum, type DrumBatch, type DrumCalibration } from '#lib/domain/drum/calibrate.ts';
import { missedBy, planGas, type GasPlan } from '#lib/domain/drum/gasPlan.ts';
import type { LotHeat } from '#lib/domain/drum/lotHeat.ts';
import type { TestSettings } from '#lib/domain/trial/settings.ts';
import type { Reader } from '../../db/client.ts';
import type { Lot } from '../../store/lots.ts';
import type { Roaster } from '../../store/site.ts';
import type { TestRecord } from '../../store/tests.ts';
import { batchOf, heatOfLot, logsOfReference, referencesFor, type Reference } from './heat.ts';

/** Everything that a plan came from. */
export interface MadePlan {
	readonly reference: Reference;
	readonly roaster: Roaster;
	/** The lot's own last logged test; null before its first. */
	readonly own: { readonly test: TestRecord; readonly missedC: number } | null;
	readonly calibration: DrumCalibration;
	readonly heat: { readonly reference: LotHeat; readonly lot: LotHeat };
	readonly samples: { readonly reference: number; readonly lot: number };
	readonly plan: GasPlan;
	/** As they are without the plan: the reference's, or the last test's once there is one. */
	readonly unchanged: TestSettings;
	readonly settings: TestSettings;
	/** What was lacking, by lot. */
	readonly lacked: readonly string[];
}

export interface PlanSearch {
	readonly made: MadePlan | null;
	/** Why there is none. */
	readonly whyNot: readonly string[];
	/** References to choose from. */
	readonly references: readonly Reference[];
}

/** Plans by the reference asked for, else by the first that carries a plan. */
export async function searchPlan(
	db: Reader,
	lot: Lot,
	tests: readonly TestRecord[],
	known: { readonly lots: readonly Lot[]; readonly roasters: readonly Roaster[] },
	asked: string
): Promise<PlanSearch> {
	const roasterId = tests.at(-1)?.batch.roasterId ?? null;
	const references = await referencesFor(db, lot, known.lots, roasterId);
	const heat = await heatOfLot(db, lot);
	if ('whyNot' in heat) return { made: null, whyNot: [`${heat.whyNot}.`], references };
	if (references.length === 0)
		return { made: null, whyNot: [noReference(roasterId, known.roasters)], references };
	const chosen = references.filter(({ lot: { code } }) => code === asked);
	const whyNot: string[] = [];
	for (const reference of chosen.length > 0 ? chosen : references.slice(0, MOST_TRIED)) {
		const made = await planBy(db, lot, heat, tests, reference, known.roasters);
		if (typeof made !== 'string') return { made, whyNot: [], references };
		whyNot.push(made);
	}
	return { made: null, whyNot, references };
}

/** References tried for a plan before the page says that there is none. */
const MOST_TRIED = 4;

function noReference(roasterId: number | null, roasters: readonly Roaster[]): string {
	const on = roasters.find(({ id }) => id === roasterId);
	return on
		? `No similar or replaced lot was released on ${on.name}.`
		: 'No similar or replaced lot was released with a recipe.';
}

async function planBy(
	db: Reader,
	lot: Lot,
	{ heat, sampleId }: { readonly heat: LotHeat; readonly sampleId: number },
	tests: readonly TestRecord[],
	reference: Reference,
	roasters: readonly Roaster[]
): Promise<MadePlan | string> {
	const roaster = roasters.find(({ id }) => id === reference.recipe.roasterId)!;
	const { code } = reference.lot;
	const before = await heatOfLot(db, reference.lot);
	if ('whyNot' in before) return `${before.whyNot}.`;
	const logs = await logsOfReference(db, reference, before.heat);
	if (logs.length === 0) return `The test that the recipe of ${code} came from has no drum log.`;
	const owns = await ownBatches(db, tests, heat, roaster.id);
	const own = owns.at(-1) ?? null;
	const anchor = own?.batch ?? logs[0]!;
	const calibration = calibrateDrum(likeCharges(anchor, [...logs, ...owns.map(byBatch)]));
	if (!calibration.ok) return `${code} on ${roaster.name}: ${calibration.problems[0]!.message}`;
	const unchanged = own?.test.batch.settings ?? reference.recipe.settings;
	const plan = planGas({
		calibration: calibration.value,
		reference: logs[0]!,
		referenceSteps: unchanged.gasSteps,
		own: own?.batch ?? null,
		lot: heat,
		limits: { minPct: roaster.gasMinPct, maxPct: roaster.gasMaxPct, stepPct: roaster.gasStepPct },
		soakS: unchanged.soakS
	});
	const series = own?.batch.reading.series;
	return {
		reference,
		roaster,
		own:
			own && series ? { test: own.test, missedC: missedBy(series.beanC, plan.referenceC) } : null,
		calibration: calibration.value,
		heat: { reference: before.heat, lot: heat },
		samples: { reference: before.sampleId, lot: sampleId },
		plan,
		unchanged,
		settings: { ...unchanged, gasSteps: plan.steps },
		lacked: [
			...heat.lacked.map((text) => `${lot.code}: ${text}.`),
			...before.heat.lacked.map((text) => `${code}: ${text}.`)
		]
	};
}

const byBatch = ({ batch }: { readonly batch: DrumBatch }) => batch;

/** Charges further apart than this share heat unlike for a kilogram: their logs don't fit one drum. */
const LIKE_CHARGE = 0.05;

/** The batches charged with about as much as the one that the plan starts from, itself included. */
function likeCharges(anchor: DrumBatch, batches: readonly DrumBatch[]): DrumBatch[] {
	const chargeOf = ({ reading }: DrumBatch) => reading.inputs.chargeG ?? NaN;
	const charge = chargeOf(anchor);
	return batches.filter((batch) => Math.abs(chargeOf(batch) / charge - 1) <= LIKE_CHARGE);
}

/** The lot's own logged tests on the roaster. */
async function ownBatches(
	db: Reader,
	tests: readonly TestRecord[],
	heat: LotHeat,
	roasterId: number
): Promise<{ readonly test: TestRecord; readonly batch: DrumBatch }[]> {
	const found: { test: TestRecord; batch: DrumBatch }[] = [];
	for (const test of tests) {
		if (test.batch.roasterId !== roasterId) continue;
		const batch = await batchOf(db, test, heat);
		if (batch) found.push({ test, batch });
	}
	return found;
}

/** The gas plan for a lot's next test by heat-demand transfer, or why there is none. */
import { createHash } from 'node:crypto';
import { calibrateDrum, type DrumBatch, type DrumCalibration } from '#lib/domain/drum/calibrate.ts';
import {
	heldPct,
	missedBy,
	planGas,
	type GasPlan,
	type GasPlanInput
} from '#lib/domain/drum/gasPlan.ts';
import { good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { LotHeat } from '#lib/domain/drum/lotHeat.ts';
import type { TestSettings } from '#lib/domain/trial/settings.ts';
import type { Reader } from '../../db/client.ts';
import type { Lot } from '../../store/lots.ts';
import type { Roaster } from '../../store/site.ts';
import type { TestRecord } from '../../store/tests.ts';
import { keepNewest } from '../keep.ts';
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
	const unchanged = own?.test.batch.settings ?? reference.recipe.settings;
	const worked = await workOut(likeCharges(anchor, [...logs, ...owns.map(byBatch)]), {
		reference: logs[0]!,
		referenceSteps: unchanged.gasSteps,
		own: own?.batch ?? null,
		lot: heat,
		limits: { minPct: roaster.gasMinPct, maxPct: roaster.gasMaxPct, stepPct: roaster.gasStepPct },
		soakS: unchanged.soakS
	});
	if (!worked.ok) return `${code} on ${roaster.name}: ${worked.problems[0]!.message}`;
	const { calibration, plan } = worked.value;
	const series = own?.batch.reading.series;
	return {
		reference,
		roaster,
		own:
			own && series ? { test: own.test, missedC: missedBy(series.beanC, plan.referenceC) } : null,
		calibration,
		heat: { reference: before.heat, lot: heat },
		samples: { reference: before.sampleId, lot: sampleId },
		plan,
		unchanged,
		settings: { ...unchanged, gasSteps: plan.steps },
		lacked: [
			...heat.lacked.map((text) => `${lot.code}: ${text}.`),
			...before.heat.lacked.map((text) => `${code}: ${text}.`),
			...(own ? gasUnlikePlanned(own) : [])
		]
	};
}

interface WorkedOut {
	readonly calibration: DrumCalibration;
	readonly plan: GasPlan;
}

/** A plan takes a second or so of work; the page asks for the same one each time that it is opened. */
const keep = keepNewest<Outcome<WorkedOut>>(40);

/** Calibrates and plans; the same batches and settings give the plan that was worked out before. */
function workOut(
	batches: readonly DrumBatch[],
	input: Omit<GasPlanInput, 'calibration'>
): Promise<Outcome<WorkedOut>> {
	const key = createHash('sha256')
		.update(JSON.stringify([batches, input]))
		.digest('hex');
	return keep(key, () => {
		const calibration = calibrateDrum(batches);
		if (!calibration.ok) return calibration;
		const plan = planGas({ ...input, calibration: calibration.value });
		return good({ calibration: calibration.value, plan });
	});
}

/** A log may be off its planned gas by so many points on average before the page says so. */
const LIKE_GAS = 3;

/** The prediction starts from the gas in the log; where the test was planned with another, it is said. */
function gasUnlikePlanned({ test, batch }: OwnBatch): string[] {
	const { timeS, gasPct } = batch.reading.series;
	const { soakS, gasSteps } = test.batch.settings;
	const off = timeS.flatMap((t, i) => {
		const logged = gasPct?.[i] ?? null;
		return logged === null || t < soakS ? [] : [Math.abs(logged - heldPct(gasSteps, t))];
	});
	const mean = off.reduce((sum, points) => sum + points, 0) / off.length;
	if (!(mean > LIKE_GAS)) return [];
	return [
		`${batch.label}: the gas in its log is ${mean.toFixed(0)} points off its planned steps on average. What is expected of the unchanged gas is of the planned steps, not of the roast as it was.`
	];
}

interface OwnBatch {
	readonly test: TestRecord;
	readonly batch: DrumBatch;
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
): Promise<OwnBatch[]> {
	const found: OwnBatch[] = [];
	for (const test of tests) {
		if (test.batch.roasterId !== roasterId) continue;
		const batch = await batchOf(db, test, heat);
		if (batch) found.push({ test, batch });
	}
	return found;
}

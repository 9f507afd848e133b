import { calibrateDrum } from '#lib/domain/drum/calibrate.ts';
import {
	BAND_80,
	FOLLOW_FROM_S,
	missedBy,
	planGas,
	type GasPlanInput,
	type PredictedCurve
} from '#lib/domain/drum/gasPlan.ts';
import type { DrumReading } from '#lib/domain/drum/reading.ts';
import { heatPair, SPOILT, spoiltLogs, type HeatPair } from '#support/heatPairs.ts';
import type { Benchmark } from './harness.ts';

const PAIRS = 120;
const SPOILT_PAIRS = 30;
const GOAL = { apartC: 4, landsC: 2, landed: 0.8, cover: [0.75, 0.85], refused: 0.95 } as const;

interface Tried {
	readonly unchangedC: number;
	readonly firstC: number;
	readonly secondC: number;
	/** Seconds of the first batch looked at, and those inside the band. */
	readonly seconds: number;
	readonly inside: number;
}

/**
 * A new lot's first two batches by heat-demand transfer against its first by the reference's gas as it was,
 * on simulated pairs of lots whose seeds no constant was set on. The advice sees logs and samples with the
 * noise and the lag of their sensors, never the beans.
 */
export const benchmark: Benchmark = {
	name: 'first batch by heat-demand transfer',
	unit: 'C',
	goal:
		`ratio <= 0.5 where the unchanged gas misses by more than ${GOAL.apartC} C; 80 % land ` +
		`(< ${GOAL.landsC} C) by batch two; the 80 % band covers 75 to 85 %; poor fits refused`,
	run() {
		const tried: Tried[] = [];
		let refused = 0;
		for (let number = 0; number < PAIRS; number++) {
			const found = tryPair(heatPair('held back', number));
			if (found) tried.push(found);
			else refused++;
		}
		return Promise.resolve(figureOf(tried, refused, spoiltRefused()));
	}
};

/** Null where the advice was refused. */
function tryPair(pair: HeatPair): Tried | null {
	const { reference: logs, nextLot, settings } = pair.seen;
	const calibration = calibrateDrum(logs);
	if (!calibration.ok) return null;
	const input: GasPlanInput = {
		calibration: calibration.value,
		reference: logs[0]!,
		referenceSteps: settings.gasSteps,
		own: null,
		lot: nextLot,
		limits: { minPct: 5, maxPct: 100, stepPct: 1 },
		soakS: settings.soakS
	};
	const plan = planGas(input);
	const unchanged = pair.roastNext(settings.gasSteps, 0);
	const first = pair.roastNext(plan.steps, 1);
	const own = { label: 'batch one', reading: first, lot: nextLot };
	const again = calibrateDrum([...logs, own]);
	const second = pair.roastNext(
		planGas({ ...input, calibration: again.ok ? again.value : calibration.value, own }).steps,
		2
	);
	const missed = (reading: DrumReading) => missedBy(reading.series.beanC, plan.referenceC);
	return {
		unchangedC: missed(unchanged),
		firstC: missed(first),
		secondC: Math.min(missed(first), missed(second)),
		...covered(plan.proposed, first)
	};
}

/** Every fifteenth second of a batch, and those inside the 80 % band. */
function covered({ beanC, sdC }: PredictedCurve, { series }: DrumReading) {
	let seconds = 0;
	let inside = 0;
	for (let t = FOLLOW_FROM_S; t < Math.min(beanC.length, series.beanC.length); t += 15) {
		seconds++;
		if (Math.abs(series.beanC[t]! - beanC[t]!) <= BAND_80 * sdC[t]!) inside++;
	}
	return { seconds, inside };
}

/** Share of calibrations on spoilt logs that were refused. */
function spoiltRefused(): number {
	let refused = 0;
	for (let number = 0; number < SPOILT_PAIRS; number++) {
		const pair = heatPair('held back', number);
		for (const how of SPOILT)
			if (!calibrateDrum(spoiltLogs(pair.seen.reference, how)).ok) refused++;
	}
	return refused / (SPOILT_PAIRS * SPOILT.length);
}

function figureOf(tried: readonly Tried[], refused: number, spoilt: number) {
	const far = tried.filter(({ unchangedC }) => unchangedC > GOAL.apartC);
	const near = tried.filter(({ unchangedC }) => unchangedC <= GOAL.apartC);
	const mean = (from: readonly Tried[], of: (one: Tried) => number) =>
		from.reduce((sum, one) => sum + of(one), 0) / from.length;
	const lands = (of: (one: Tried) => number) => mean(tried, (one) => +(of(one) < GOAL.landsC));
	const value = mean(far, ({ firstC }) => firstC);
	const reference = mean(far, ({ unchangedC }) => unchangedC);
	const landed = lands(({ secondC }) => secondC);
	const cover = mean(tried, ({ inside }) => inside) / mean(tried, ({ seconds }) => seconds);
	const holds =
		value / reference <= 0.5 &&
		landed >= GOAL.landed &&
		cover >= GOAL.cover[0] &&
		cover <= GOAL.cover[1] &&
		spoilt >= GOAL.refused &&
		refused <= 0.05 * PAIRS;
	const c = (celsius: number) => `${celsius.toFixed(1)} C`;
	return {
		value,
		reference,
		ratio: value / reference,
		holds,
		note:
			`root mean square of the bean probe against the reference's from ${FOLLOW_FROM_S} s to the drop; ` +
			`mean of ${far.length} pairs (of ${PAIRS} simulated, ${refused} refused) that unchanged gas misses by more than ${GOAL.apartC} C; ` +
			`of the other ${near.length}: ${c(mean(near, ({ firstC }) => firstC))} against ${c(mean(near, ({ unchangedC }) => unchangedC))}; ` +
			`landed: unchanged ${lands(({ unchangedC }) => unchangedC).toFixed(2)}, batch one ` +
			`${lands(({ firstC }) => firstC).toFixed(2)}, by batch two ${landed.toFixed(2)}; band of batch one covers ` +
			`${cover.toFixed(2)}; refused on ${SPOILT.length} kinds of spoilt log ${spoilt.toFixed(2)}`
	};
}

import { beforeAll, describe, expect, it } from 'vitest';
import { heatPair, SPOILT, spoiltLogs, type HeatPair } from '#support/heatPairs.ts';
import { calibrateDrum, POOR_FIT_C, type DrumCalibration } from './calibrate.ts';
import { heldPct, missedBy, planGas, type GasPlan, type GasPlanInput } from './gasPlan.ts';

const LIMITS = { minPct: 5, maxPct: 100, stepPct: 1 };

function inputOf({ seen }: HeatPair, calibration: DrumCalibration): GasPlanInput {
	return {
		calibration,
		reference: seen.reference[0]!,
		referenceSteps: seen.settings.gasSteps,
		own: null,
		lot: seen.nextLot,
		limits: LIMITS,
		soakS: seen.settings.soakS
	};
}

function calibrated(pair: HeatPair): DrumCalibration {
	const calibration = calibrateDrum(pair.seen.reference);
	if (!calibration.ok) throw new Error(calibration.problems[0]?.message);
	return calibration.value;
}

/** Pairs of the tuning seeds that unchanged gas misses by more than 4 C. */
const FAR = [0, 11, 14, 20];

describe('a gas plan on simulated pairs of lots', () => {
	const pairs = new Map<number, { pair: HeatPair; input: GasPlanInput; plan: GasPlan }>();
	beforeAll(() => {
		for (const number of FAR) {
			const pair = heatPair('tuning', number);
			const input = inputOf(pair, calibrated(pair));
			pairs.set(number, { pair, input, plan: planGas(input) });
		}
	});

	it.each(FAR)('H7: brings pair %d nearer to the reference than unchanged gas does', (number) => {
		const { pair, plan, input } = pairs.get(number)!;
		const missed = (steps: GasPlan['steps'], batch: number) =>
			missedBy(pair.roastNext(steps, batch).series.beanC, plan.referenceC);
		const unchangedC = missed(input.referenceSteps, 0);
		expect(unchangedC).toBeGreaterThan(4);
		expect(missed(plan.steps, 1)).toBeLessThan(0.6 * unchangedC);
		expect(plan.expectedC.proposed).toBeLessThan(plan.expectedC.unchanged);
	});

	it('H8: lands with batch two, planned on the log of batch one', () => {
		const { pair, plan, input } = pairs.get(14)!;
		const own = {
			label: 'batch one',
			reading: pair.roastNext(plan.steps, 1),
			lot: pair.seen.nextLot
		};
		const second = planGas({ ...input, own });
		expect(second.anchor).toBe('batch one');
		const missedC = missedBy(pair.roastNext(second.steps, 2).series.beanC, plan.referenceC);
		expect(missedC).toBeLessThan(2);
	});

	it('H9: keeps to the limits and steps of the burner, and says where they hold it back', () => {
		const { input, plan } = pairs.get(14)!;
		const limits = { minPct: 30, maxPct: 70, stepPct: 5 };
		const narrow = planGas({ ...input, limits });
		for (const { pct } of narrow.steps) {
			expect(pct).toBeGreaterThanOrEqual(30);
			expect(pct).toBeLessThanOrEqual(70);
			expect(pct % 5).toBe(0);
		}
		expect(narrow.steps.map(({ atS }) => atS)).toEqual(plan.steps.map(({ atS }) => atS));
		expect(narrow.heldBackAtS.length).toBeGreaterThan(0);
		expect(narrow.expectedC.proposed).toBeGreaterThan(plan.expectedC.proposed);
	});

	it('H10: is less sure of what it does not know: a lot whose sample air was not logged', () => {
		const { input, plan } = pairs.get(20)!;
		const widest = (of: GasPlan) => Math.max(...of.proposed.sdC);
		expect(widest(plan)).toBeGreaterThan(0.5);
		const blind = planGas({ ...input, lot: { ...input.lot, sampleHeat: null } });
		expect(widest(blind)).toBeGreaterThan(widest(plan));
	});

	it('leaves the gas alone for the reference itself', () => {
		const { input } = pairs.get(0)!;
		const same = planGas({ ...input, lot: input.reference.lot });
		same.steps.forEach(({ pct }, i) => {
			expect(Math.abs(pct - input.referenceSteps[i]!.pct)).toBeLessThanOrEqual(1);
		});
		expect(Math.max(...same.unchanged.sdC)).toBeLessThan(
			Math.max(...pairs.get(0)!.plan.unchanged.sdC)
		);
	});
});

describe('the calibration of a drum', () => {
	it('H4: fits good logs within the limit, with an error for each parameter', () => {
		const calibration = calibrated(heatPair('tuning', 3));
		expect(calibration.rmsC).toBeLessThan(POOR_FIT_C);
		expect(calibration.batches).toHaveLength(2);
		for (const { standardError } of calibration.fitted) expect(standardError).toBeGreaterThan(0);
		expect(calibration.fitted.find(({ name }) => name === 'air')!.learnt).toBeGreaterThan(0.5);
	});

	it.each(SPOILT)('H6: refuses to advise on a log with %s', (how) => {
		const found = calibrateDrum(spoiltLogs(heatPair('tuning', 3).seen.reference, how));
		expect(found.ok).toBe(false);
		if (!found.ok) expect(found.problems[0]!.path).toBe('fit');
	});

	it('names a log without gas, with gas that never moves, and the lack of any log', () => {
		const [batch] = heatPair('tuning', 3).seen.reference;
		const withGas = (gasPct: readonly number[] | null) =>
			calibrateDrum([
				{ ...batch!, reading: { ...batch!.reading, series: { ...batch!.reading.series, gasPct } } }
			]);
		const messages = [
			withGas(null),
			withGas(batch!.reading.series.timeS.map(() => 60)),
			calibrateDrum([])
		].map((found) => (found.ok ? '' : found.problems[0]!.message));
		expect(messages[0]).toBe('The log of log 0 has no gas.');
		expect(messages[1]).toContain('at one place throughout');
		expect(messages[2]).toBe('There is no drum log to calibrate on.');
	});
});

it('holds the gas from step to step', () => {
	const steps = [
		{ atS: 10, pct: 80 },
		{ atS: 60, pct: 50 }
	];
	expect([0, 10, 59, 60, 900].map((second) => heldPct(steps, second))).toEqual([
		80, 80, 80, 50, 50
	]);
});

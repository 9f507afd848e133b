import { describe, expect, it } from 'vitest';
import { accuracyOf, backTest, rollingOrigins, rootMeanSquare } from './backtest.ts';
import { forecastDemand, LEAST_GAIN, STEPS_AHEAD } from './forecast.ts';
import { fitSimple } from './smoothing.ts';

const weeks = (n: number, of: (week: number) => number) =>
	Array.from({ length: n }, (_, i) => of(i));
/** A fixed, patternless swing from -1 to 1. */
const swing = (i: number) => Math.sin(i * i * 1.7 + i);
const wavy = (i: number) => 100 + 40 * Math.sin((2 * Math.PI * i) / 52);

const trialOf = (orders: readonly number[], id: string) =>
	forecastDemand(orders)!.trials.find((trial) => trial.id === id)!;

describe('rule 1: what counts as history', () => {
	it('has no forecast for what was never ordered', () => {
		expect(forecastDemand([])).toBeNull();
		expect(forecastDemand([0, 0, 0])).toBeNull();
	});
	it('begins with the first order and leaves out what is older than three years', () => {
		const orders = weeks(50, (i) => 100 + 9 * swing(i));
		expect(forecastDemand([...weeks(30, () => 0), ...orders])).toEqual(forecastDemand(orders));
		expect(forecastDemand(weeks(200, wavy))).toMatchObject({ weeks: 156, leftOut: 44 });
	});
});

describe('rule 4: a richer method must earn its place', () => {
	it('smooths what swings without pattern round a level', () => {
		const { chosen, ahead } = forecastDemand(weeks(78, (i) => 1000 + 100 * swing(i)))!;
		expect(chosen.id).toBe('simple');
		expect(chosen.againstNaive).toBeLessThan(-LEAST_GAIN);
		expect(ahead[0]!.value).toBeGreaterThan(950);
		expect(ahead[0]!.value).toBeLessThan(1050);
	});
	it('keeps last week where orders never change', () => {
		const { chosen, trials, ahead } = forecastDemand(weeks(60, () => 500))!;
		expect(chosen).toMatchObject({ id: 'naive', againstNaive: null });
		expect(chosen.accuracy).toEqual({ mae: 0, rmse: 0, mase: null });
		expect(trials.find(({ id }) => id === 'trend')!.because).toContain('as large as with');
		expect(ahead.at(-1)).toEqual({ value: 500, interval: { low: 500, high: 500 } });
	});
	it('follows a trend', () => {
		const { chosen, ahead, mean } = forecastDemand(weeks(60, (i) => 100 + 10 * i + 3 * swing(i)))!;
		expect(chosen.id).toBe('trend');
		expect(Math.abs(ahead[11]!.value - (100 + 10 * 71))).toBeLessThan(20);
		expect(Math.abs(mean.value - (100 + 10 * 63.5))).toBeLessThan(20);
	});
	it('sees a season in three years, by whichever method is the simplest that gains enough', () => {
		const { chosen, ahead } = forecastDemand(weeks(156, (i) => wavy(i) + 2 * swing(i)))!;
		expect(['seasonal naive', 'season added', 'season multiplied']).toContain(chosen.id);
		expect(Math.abs(ahead[11]!.value - wavy(167))).toBeLessThan(10);
	});
	it('takes no gain that half of the back-test does not share', () => {
		// A line that goes level: carried too far by the trend in the newer half.
		const bent = weeks(78, (i) => 100 + 10 * Math.min(i, 60) + 2 * swing(i));
		expect(trialOf(bent, 'trend').isChosen).toBe(false);
		expect(trialOf(bent, 'trend').because).toMatch(/% below .*, but not in the newer half$/);
		// A line that goes level for fourteen weeks and then rises faster: carried too far in the older half.
		const stepped = weeks(
			78,
			(i) => 100 + 10 * Math.min(i, 44) + 30 * Math.max(0, i - 58) + 3 * swing(i)
		);
		expect(trialOf(stepped, 'trend').isChosen).toBe(false);
		expect(trialOf(stepped, 'trend').because).toMatch(/% below .*, but not in the older half$/);
	});
	it('chooses one method, and the chosen is no worse than last week carried on', () => {
		for (const shift of [0, 1, 2, 3, 4]) {
			const found = forecastDemand(weeks(80, (i) => 50 + i + 20 * swing(i + shift)))!;
			expect(found.trials.filter(({ isChosen }) => isChosen)).toEqual([found.chosen]);
			const naive = found.trials[0]!;
			expect(found.chosen.accuracy!.rmse).toBeLessThanOrEqual(naive.accuracy!.rmse);
		}
	});
});

describe('seasons and gaps are tried only where they can be told', () => {
	it('names the weeks that a season lacks', () => {
		const because = trialOf(weeks(78, wavy), 'seasonal naive').because;
		expect(because).toBe(
			'not tried: needs 52 weeks before the first of the back-test; there are 41'
		);
		expect(trialOf(weeks(89, wavy), 'seasonal naive').accuracy).not.toBeNull();
		expect(trialOf(weeks(140, wavy), 'season added').accuracy).toBeNull();
		expect(trialOf(weeks(141, wavy), 'season added').accuracy).not.toBeNull();
	});
	it('tries intermittent demand where weeks are empty, and no multiplied season there', () => {
		const orders = weeks(150, (i) => (i % 3 === 0 ? 30 + 5 * swing(i) : 0));
		expect(trialOf(orders, 'croston').accuracy).not.toBeNull();
		expect(trialOf(orders, 'season multiplied').because).toContain('needs orders in every week');
		expect(trialOf(weeks(78, wavy), 'croston').because).toContain('not tried');
	});
});

describe('rule 5: too short a history', () => {
	it('carries the last week on, without an interval, below 36 weeks', () => {
		const short = forecastDemand(weeks(35, (i) => 10 + i))!;
		expect(short.chosen.id).toBe('naive');
		expect(short.chosen.because).toBe('a back-test needs 36 weeks of orders; there are 35');
		expect(short).toMatchObject({ origins: 0, inside: null });
		expect(short.ahead).toHaveLength(STEPS_AHEAD);
		for (const expected of short.ahead) expect(expected).toEqual({ value: 44, interval: null });
		expect(short.mean).toEqual({ value: 44, interval: null });
		expect(forecastDemand(weeks(36, (i) => 10 + i))!.origins).toBe(13);
	});
});

describe('rule 6: the interval', () => {
	it('never narrows with distance nor reaches below nought', () => {
		const { ahead } = forecastDemand(weeks(78, (i) => Math.max(0, 40 - i / 2 + 10 * swing(i))))!;
		const widths = ahead.map(({ value, interval }) => interval!.high - value);
		expect(widths).toEqual(widths.toSorted((a, b) => a - b));
		expect(Math.min(...ahead.map(({ interval }) => interval!.low))).toBe(0);
	});
	it('is 1.28 times the error of the back-test at that step', () => {
		const orders = weeks(78, (i) => 1000 + 100 * swing(i));
		const found = forecastDemand(orders)!;
		const origins = rollingOrigins(78, STEPS_AHEAD, 12, 26);
		const test = backTest(orders, STEPS_AHEAD, origins, (v, steps) => fitSimple(v).ahead(steps));
		expect(found.chosen.id).toBe('simple');
		expect(found.chosen.accuracy).toEqual(accuracyOf(test));
		const { value, interval } = found.ahead[0]!;
		const error = rootMeanSquare(test.errors.map((row) => row[0]!));
		expect((interval!.high - value) / error).toBeCloseTo(1.2816, 4);
		expect((value - interval!.low) / error).toBeCloseTo(1.2816, 4);
	});
	it('holds about 80 of 100 orders that are independent and normal', () => {
		// Nearly normal: quantiles at points of an additive recurrence.
		const orders = weeks(78, (i) => 1000 + 100 * normal(((i + 1) * Math.SQRT2) % 1));
		const { inside } = forecastDemand(orders)!;
		expect(inside!.of).toBe(26 * STEPS_AHEAD);
		expect(inside!.count / inside!.of).toBeGreaterThan(0.7);
		expect(inside!.count / inside!.of).toBeLessThan(0.9);
	});
});

/** About the standard normal quantile, by the logistic one. */
function normal(p: number): number {
	return Math.log(p / (1 - p)) / 1.702;
}
